"""The plan as a whole: every step by cavity, joints as one sheet, what the records leave open, and what comes off again."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound
from app.kernel.form_fields import House, read_form
from app.kernel.needs import never_kept
from app.kernel.saving import Saved, save_or_reshow
from app.orders.loading import load_order
from app.reassembly.forms import ReopenForm
from app.reassembly.queries.cavities import by_cavity, joints_of
from app.reassembly.queries.way import records_of, way_back
from app.reassembly.service import steps as steps_service
from app.reassembly.views.common import bp
from app.removals import queries as removals
from app.removals.service import outcome as outcome_service


@bp.get("/all")
@may(May.SEE)
def all_steps(order_id: int) -> str:
    """Every step by cavity, done and to be done."""
    order = load_order(order_id)
    way = way_back(order)
    now = clock.now()
    ready = {step.id for step in way.ready(now)}
    return render_template("reassembly/all.html", order=order, way=way, now=now, ready=ready, cavities=by_cavity(way),
                           undone=records_of(order, undone=True))


@bp.get("/joints/<mark>")
@may(May.SEE)
def joints(order_id: int, mark: str) -> str:
    """The joints of one base or board, its pins in order; those on its hidden side first."""
    order = load_order(order_id)
    way = way_back(order, planned=False)
    if mark not in way.removals:
        raise NotFound("Nothing of that tag is off this amp.")
    hidden = joints_of(way, mark, hidden=True)
    pins = {row.pin for row in hidden}
    seen = [row for row in joints_of(way, mark) if row.pin not in pins]
    return render_template("reassembly/joints.html", order=order, way=way, host=way.removals[mark], hidden=hidden, seen=seen)


@bp.post("/answer/<record>/<field>")
@never_kept
@may(May.WORK)
def answer(order_id: int, record: str, field: str) -> Response | str:
    """One tap settles what the record could not know."""
    order = load_order(order_id, May.WORK)

    def act(saved: Saved) -> Response:
        removal = steps_service.answer(order, record, field, request.form.get("value", ""), by=actor(), now=clock.now())
        flash(f"{removal.title}: saved. The plan follows.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(read_form(House), act) or all_steps(order_id)


@bp.route("/reopen/<int:removal_id>", methods=["GET", "POST"])
@may(May.WORK)
def reopen(order_id: int, removal_id: int) -> Response | str:
    """Its fate changes after it went back: it comes off again, and the proofs behind it are made again."""
    order = load_order(order_id, May.WORK)
    removal = next((one for one in removals.of_order(order) if one.id == removal_id), None)
    if removal is None:
        raise NotFound("There is no such record on this repair.")
    form = read_form(ReopenForm, fate=removal.fate, old_part=removal.old_part.value if removal.old_part else None)

    def act(saved: Saved) -> Response:
        void = steps_service.reopen(order, removal, reason=form.fate_reason.data or "", by=actor(), now=clock.now())
        outcome_service.decide_fate(removal, order, form.fate.data, reason=form.fate_reason.data or "", old_part=form.old,
                                    by=actor(), now=clock.now())
        again = f" To be done again: {'; '.join(void)}." if void else ""
        flash(f"{removal.title} is open again: {removal.fate.word}.{again}", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("reassembly/reopen.html", order=order, removal=removal, form=form,
                                              has_errors=form.has_errors)
