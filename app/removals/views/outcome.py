"""What becomes of a removal, and taking it back."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.db import session
from app.errors import RuleBroken
from app.kernel.form_fields import House, options, read_form
from app.kernel.saving import Saved, check_fresh, save_or_reshow
from app.removals import queries
from app.removals.forms import FateFields, ReasonForm
from app.removals.rules import Fate
from app.removals.service import outcome as outcome_service
from app.removals.views.common import bp, load_removal

AT = "/<int:removal_id>"


@bp.route(f"{AT}/fate", methods=["GET", "POST"])
@may(May.WORK)
def fate(order_id: int, removal_id: int) -> Response | str:
    """Refit, replace, scrap, give back, into stock. The way back follows at once."""
    order, removal = load_removal(order_id, removal_id, May.WORK)
    form = read_form(FateFields, fate=removal.fate, fate_reason=removal.fate_reason,
                     old_part=removal.old_part.value if removal.old_part else None)
    form.fate.choices = options((one.value, one.word) for one in Fate if (one is Fate.NEW) is (removal.fate is Fate.NEW))

    def act(saved: Saved) -> Response:
        session().refresh(removal)
        check_fresh(removal)
        outcome_service.decide_fate(removal, order, form.fate.data, reason=form.fate_reason.data or "", old_part=form.old_part.data,
                                    by=actor(),
                            now=clock.now())
        flash(f"{removal.title}: {removal.fate.word}.", "saved")
        return saved("removals.one", order_id=order_id, removal_id=removal_id)

    version = request.form.get("version", "") or removal.version
    return save_or_reshow(form, act) or render_template(
        "removals/fate.html", order=order, removal=removal, form=form, version=version, has_errors=form.has_errors)


@bp.route(f"{AT}/end", methods=["GET", "POST"])
@may(May.WORK)
def end(order_id: int, removal_id: int) -> Response | str:
    """What does not go back ends here; what goes back ends on the way back."""
    order, removal = load_removal(order_id, removal_id, May.WORK)
    form = read_form(House)

    def act(saved: Saved) -> Response:
        if removal.fate.goes_back:
            raise RuleBroken(f"{removal.title} goes back: it ends on the way back.")
        outcome_service.end_removal(removal, order, by=actor(), now=clock.now())
        flash(f"{removal.title}: {removal.ended_as.word if removal.ended_as else ''}.", "saved")
        return saved("removals.page", order_id=order_id)

    line = queries.line_of(removal, order) if removal.struck_at is None else None
    return save_or_reshow(form, act) or render_template("removals/end.html", order=order, removal=removal, form=form, line=line)


@bp.route(f"{AT}/reopen", methods=["GET", "POST"])
@may(May.WORK)
def reopen(order_id: int, removal_id: int) -> Response | str:
    """It is off again, or was never on."""
    order, removal = load_removal(order_id, removal_id, May.WORK)
    form = read_form(ReasonForm)

    def act(saved: Saved) -> Response:
        outcome_service.reopen_removal(removal, order, reason=form.reason.data, by=actor(), now=clock.now())
        flash(f"{removal.title} is open again.", "saved")
        return saved("removals.one", order_id=order_id, removal_id=removal_id)

    return save_or_reshow(form, act) or render_template(
        "removals/reason.html", order=order, form=form, title=f"Take back the end of {removal.title}", has_errors=form.has_errors,
        words=f"It is {removal.ended_as.word if removal.ended_as else 'open'}.", button="Take it back",
        back=("removals.one", {"removal_id": removal_id}))


@bp.route(f"{AT}/strike", methods=["GET", "POST"])
@may(May.WORK)
def strike(order_id: int, removal_id: int) -> Response | str:
    """Recorded in error."""
    order, removal = load_removal(order_id, removal_id, May.WORK)
    form = read_form(ReasonForm)

    def act(saved: Saved) -> Response:
        outcome_service.strike_removal(removal, order, reason=form.reason.data, by=actor(), now=clock.now())
        flash(f"{removal.title} is struck.", "saved")
        return saved("removals.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "removals/reason.html", order=order, form=form, title=f"Strike out {removal.title}", has_errors=form.has_errors,
        words="It was recorded in error. It stays readable and counts no more.", button="Strike out this removal",
        back=("removals.one", {"removal_id": removal_id}))
