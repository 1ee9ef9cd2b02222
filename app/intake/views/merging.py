"""Merging two records of one customer, or of one amp."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.intake.forms.merging import MergeForm
from app.intake.queries import known
from app.intake.queries import search as search_queries
from app.intake.service import merging
from app.intake.views.common import bp, load_amp, load_customer
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.saving import saving
from app.records.models import Amp, Customer
from app.records.spec import AmpFacts, CustomerFacts


@bp.route("/customers/<int:customer_id>/merge", methods=["GET", "POST"])
@may(May.MERGE)
def merge_customer(customer_id: int) -> Response | str:
    """Another record of this customer becomes part of this one."""
    kept, typed = load_customer(customer_id), request.values.get("q", "").strip()
    found = ([match.customer for match in search_queries.matches(typed)] if typed
             else known.people_like(CustomerFacts(kept.name, kept.phone, kept.email)))
    posted = request.form.get("double_id", "")
    also = search_queries.find_customer(int(posted)) if posted.isdecimal() else None
    others = _others(kept, [*found, *([also] if also else [])])
    words = [(one.id, f"{one.name}, {one.reach}: {_repairs(len(search_queries.orders_of_customer(one.id)))}") for one in others]
    return _page(kept.name, typed, words, "intake.customer", {"customer_id": kept.id}, f"Merge into {kept.name}",
                 lambda key, reason: merging.merge_customers(kept, load_customer(key), reason, by=actor(), now=clock.now()))


@bp.route("/amps/<int:amp_id>/merge", methods=["GET", "POST"])
@may(May.MERGE)
def merge_amp(amp_id: int) -> Response | str:
    """Another record of this amp becomes part of this one."""
    kept, typed = load_amp(amp_id), request.values.get("q", "").strip()
    found = (list(search_queries.records(typed).amps) if typed
             else known.amps_like(AmpFacts(kept.maker, kept.model, kept.serial)))
    posted = request.form.get("double_id", "")
    also = search_queries.find_amp(int(posted)) if posted.isdecimal() else None
    others = _others(kept, [*found, *([also] if also else [])])
    words = [(one.id, f"{one.title}, serial {one.serial or 'not read yet'}: {_repairs(len(search_queries.orders_of_amp(one.id)))}")
             for one in others]
    return _page(kept.title, typed, words, "intake.amp_record", {"amp_id": kept.id}, f"Merge into {kept.title}",
                 lambda key, reason: merging.merge_amps(kept, load_amp(key), reason, by=actor(), now=clock.now()))


R = TypeVar("R", Customer, Amp)


def _others(kept: R, found: Sequence[R]) -> list[R]:
    return list({one.id: one for one in found if one.id != kept.id and one.merged_into_id is None}.values())


def _repairs(number: int) -> str:
    return counted(number, "repair")


def _page(called: str, typed: str, words: Sequence[tuple[int, str]], home: str, values: dict[str, int], title: str,
          act: Callable[[int, str], None]) -> Response | str:
    form = read_form(MergeForm)
    form.offer(words)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                act(form.double_id.data, form.reason.data or "")
                flash("The records are merged: the repairs of both stand here.", "saved")
                return saved(home, **values)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("intake/merge.html", form=form, has_errors=form.has_errors, called=called, typed=typed, title=title,
                           home=home, values=values, any_found=bool(words))
