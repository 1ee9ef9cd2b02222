"""What the pages of the return share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app.access.rules import May
from app.errors import BadInput, Missing
from app.handover import queries
from app.handover.rules import Lack, missing_items, missing_items_unrepaired
from app.kernel.form_fields import House
from app.kernel.saving import check_fresh, saving
from app.money import queries as money
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open

bp = Blueprint("handover", __name__, url_prefix="/orders/<int:order_id>/return")

WORDS = {"accessories": "Accessories", "old_parts": "Old parts", "sums": "Money", "shown": "Demonstration",
         "sign": "Signature"}


def load_open_order(order_id: int) -> RepairOrder:
    """The order, for somebody who may hand it out; refused once it has ended."""
    order = load_order(order_id, May.HAND_OUT)
    must_be_open(order)
    return order


def going_unrepaired(order: RepairOrder) -> bool:
    """Whether somebody has written down that it leaves unrepaired."""
    return queries.unrepaired(order.id) is not None


def lacks_of(order: RepairOrder) -> tuple[Lack, ...]:
    """What is missing in the way in which this amp goes out."""
    if going_unrepaired(order):
        return missing_items_unrepaired(queries.unrepaired_facts(order))
    return missing_items(queries.facts(order))


def save_or_reshow(form: House, order: RepairOrder, act: Callable[[], object], *, record: Callable[[], Any] | None = None,
                   then: str | None = None) -> Response | None:
    """Save the sheet that was posted and go on to the next one missing; None if the page is to be shown (again)."""
    if request.method != "POST" or not form.validate():
        return None
    try:
        with saving() as saved:
            found = record() if record else None
            if found is not None:
                check_fresh(found, form)
            act()
            flash("Saved.", "saved")
            if then:
                return saved(then, order_id=order.id)
            rest = lacks_of(order)
            return saved(f"handover.{rest[0].part}" if rest else
                         "handover.unrepaired_page" if going_unrepaired(order) else "handover.page", order_id=order.id)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def again_asked() -> bool:
    """Whether somebody asks for another signature beside one that stands."""
    return request.method == "POST" or "again" in request.args


def as_missing(order: RepairOrder, lack: Lack) -> Missing:
    """What is missing, with the sheet on which it is done."""
    return Missing(lack.text, f"handover.{lack.part}", (("order_id", order.id),))


def due_now(order: RepairOrder) -> int:
    """What is owed where a bill is issued; else what is committed, up to what was agreed. Minor units."""
    account = money.account(order.id)
    due = money.due(order, unrepaired=going_unrepaired(order))
    return max(0, account.balance.owed_minor if account.bills else due - account.balance.received_minor)


def version_of(record: Any) -> int:
    """The version the page was opened with: the posted one if it is shown again, else the record's; 0 before one."""
    posted = request.form.get("version", "")
    return int(posted) if posted.isdecimal() else record.version if record is not None else 0


def sheet(part: str, order: RepairOrder, form: House, **values: Any) -> str:
    """One sheet of the return."""
    return render_template(f"handover/{part}.html", order=order, form=form, has_errors=form.has_errors,
                           unrepaired=going_unrepaired(order), **values)
