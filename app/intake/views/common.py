"""What the counter's pages share: the blueprint, opening an order for writing, saving a sheet and going on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app.access.rules import May
from app.errors import BadInput, NotFound
from app.intake.queries import search as search_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.rules import missing_items
from app.intake.summary import PARTS, sheets_of
from app.kernel.form_fields import House
from app.kernel.saving import Saved, check_fresh, saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.records.models import Amp, Customer

bp = Blueprint("intake", __name__)


def load_open_order(order_id: int) -> RepairOrder:
    """The order, for somebody who may write at the counter; refused once it has ended."""
    order = load_order(order_id, May.CHECK_IN)
    must_be_open(order)
    return order


def load_customer(customer_id: int) -> Customer:
    """The customer at this address."""
    customer = search_queries.find_customer(customer_id)
    if customer is None:
        raise NotFound("There is no such customer.")
    return customer


def load_amp(amp_id: int) -> Amp:
    """The amp at this address."""
    amp = search_queries.find_amp(amp_id)
    if amp is None:
        raise NotFound("There is no such amp.")
    return amp


def save_or_reshow(form: House, order: RepairOrder, act: Callable[[], object],
                   find: Callable[[], Any] | None = None) -> Response | None:
    """Save the sheet that was posted and go on to the next one missing; None if the page is to be shown (again).

    `find` gives the record that is edited, read anew under the lock, so that two people notice each other.
    """
    if request.method != "POST" or not form.validate():
        return None
    try:
        with saving() as saved:
            record = find() if find else None
            if record is not None:
                check_fresh(record, form)
            act()
            flash("Saved.", "saved")
            return onward(saved, order)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def onward(saved: Saved, order: RepairOrder) -> Response:
    """To the sheet of the next thing missing; to the overview when nothing is."""
    lacks = missing_items(sheets_queries.facts(order))
    return saved(f"intake.{lacks[0].part}" if lacks else "intake.page", order_id=order.id)


def version_of(record: Any) -> int:
    """The version the page was opened with: the posted one if it is shown again, else the record's; 0 before one."""
    posted = request.form.get("version", "")
    return int(posted) if posted.isdecimal() else record.version if record is not None else 0


def sheet_page(part: str, order: RepairOrder, form: House, **values: Any) -> str:
    """One sheet of the order, with the others beside it."""
    lacks = {lack.part: lack.text for lack in missing_items(sheets_queries.facts(order))}
    values.setdefault("title", PARTS.get(part, ""))
    return render_template(f"intake/{part}.html", order=order, form=form, has_errors=form.has_errors, part=part,
                           sheets=sheets_of(order, lacks), lack=lacks.get(part, ""), **values)


def reason_page(order: RepairOrder, form: House, *, title: str, words: str, button: str, back: str) -> str:
    """A page that asks for one reason; `back` is the sheet to leave it for."""
    return render_template("intake/reason.html", order=order, form=form, has_errors=form.has_errors, title=title, words=words,
                           button=button, back=back)
