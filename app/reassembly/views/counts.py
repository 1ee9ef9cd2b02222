"""Counts at closures, the balance, and handing the bench over."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access import queries as people
from app.access.guard import actor, may, person
from app.access.rules import May
from app.errors import BadInput
from app.kernel.form_fields import options, read_form
from app.kernel.saving import Saved
from app.orders.loading import load_order
from app.orders.service import must_be_open
from app.reassembly.forms import BaseForm, CountForm, HandoverForm, with_counts
from app.reassembly.queries.way import counts_of, handovers_of
from app.reassembly.queries.work import balance_at, balance_of, balances
from app.reassembly.service import counts as counts_service
from app.reassembly.service.counts import ends_at
from app.reassembly.views.common import bp, planned, save_or_reshow
from app.removals import queries as removals


@bp.route("/count/<path:step>", methods=["GET", "POST"])
@may(May.WORK)
def count(order_id: int, step: str) -> Response | str:
    """Count what is left before something is closed; the balance stands beside it."""
    order = load_order(order_id, May.WORK)
    way = planned(order, step)
    what, owner = way.origins[step]
    weighed = balance_at(order, way, step)
    kind, names = with_counts(CountForm, weighed.open)
    form = read_form(BaseForm if what == "V" else kind)

    def act(saved: Saved) -> Response:
        by, now = actor(), clock.now()
        if what == "V":
            made = counts_service.count_base(order, step, ends=form.ends.data, looked=form.looked.data, by=by, now=now)
        else:
            made = counts_service.count_closure(order, step, left=_entered(form, names), looked=form.looked.data, by=by, now=now)
        if made.closed:
            flash(f"{made.label}: it balances.", "saved")
            return saved("reassembly.page", order_id=order_id)
        for fault in made.faults:
            flash(fault, "refused")
        return saved("reassembly.count", order_id=order_id, step=step)

    return save_or_reshow(form, act) or render_template(
        "reassembly/count.html", order=order, way=way, step=way.steps[step], form=form, weighed=weighed, what=what,
        counters=[form[name] for name in names] if what != "V" else [], expected=ends_at(way, owner) if what == "V" else 0,
        lost=removals.open_losses(order), counts=[one for one in counts_of(order) if one.step == step],
        has_errors=form.has_errors)


@bp.get("/balance")
@may(May.SEE)
def balance(order_id: int) -> str:
    """The ledger of the whole job and of each sub-assembly, class by class."""
    order = load_order(order_id)
    return render_template("reassembly/balance.html", order=order, balances=balances(order), counts=counts_of(order),
                           lost=removals.open_losses(order))


@bp.route("/handover", methods=["GET", "POST"])
@may(May.WORK)
def change_technician(order_id: int) -> Response | str:
    """The open amp changes hands, with a count."""
    order = load_order(order_id, May.WORK)
    must_be_open(order)
    still = {name: number for name, number in balance_of(order).open.items() if number}
    kind, names = with_counts(HandoverForm, still, blank=True)
    form = read_form(kind)
    takers = [one for one in people.people() if one.may(May.WORK) and one.id != person().id]
    form.to.choices = options((one.id, one.name) for one in takers)

    def act(saved: Saved) -> Response:
        taker = next((one for one in takers if one.id == form.to.data), None)
        if taker is None:
            raise BadInput("Tap who takes over.", "to")
        counts_service.change_technician(order, to_id=taker.id, to_name=taker.name, counted=_entered(form, names),
                                         note=form.note.data or "",
                          by=actor(), now=clock.now())
        flash(f"Handed over to {taker.name}.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("reassembly/change_technician.html", order=order, form=form, takers=takers,
                                                        counters=[form[name] for name in names], past=handovers_of(order),
                                                        has_errors=form.has_errors)


def _entered(form: Any, names: dict[str, str]) -> dict[str, int]:
    return {piece: form[name].data or 0 for name, piece in names.items()}
