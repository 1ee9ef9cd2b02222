"""Abort and resume."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound
from app.findings.rules.life import Area
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow
from app.orders import power
from app.powerup import queries
from app.powerup.forms import AbortForm, ResumeForm
from app.powerup.queries import Where
from app.powerup.rounds import verdict_of
from app.powerup.rules.course import Go
from app.powerup.rules.steps import STEPS
from app.powerup.service import runs as runs_service
from app.powerup.views.common import bp, load_run


@bp.route("/steps/<int:step_id>/abort", methods=["GET", "POST"])
@may(May.TEST)
def abort(order_id: int, step_id: int) -> Response | str:
    """Off, and what was seen becomes a finding; filled in from what failed."""
    order, run = load_run(order_id)
    if not 0 <= step_id < len(STEPS):
        raise NotFound("There is no such step.")
    found = queries.where(run.id)
    said, area, place = _failed(found, step_id)
    form = read_form(AbortForm, observation=said, area=area, place=place)

    def act(saved: Saved) -> Response:
        facts = runs_service.finding_facts(form.observation.data or "", form.area.data, form.place.data or "")
        made = runs_service.abort(run, step_id, facts, off=bool(form.off.data), by=actor(), now=clock.now())
        flash(f"Step {step_id} aborted. Finding {made.finding.number} waits for its decision.", "saved")
        return saved("findings.finding", order_id=order_id, finding_id=made.finding_id)

    return save_or_reshow(form, act) or render_template(
        "powerup/abort.html", order=order, run=run, form=form, step=STEPS[step_id], powered=power.powered(order_id),
        has_errors=form.has_errors)


@bp.route("/resume", methods=["GET", "POST"])
@may(May.TEST)
def resume(order_id: int) -> Response | str:
    """Go on after an abort, with what is expected now."""
    order, run = load_run(order_id)
    halted = queries.where(run.id).abort
    if halted is None:
        raise NotFound("The run is not aborted.")
    form = read_form(ResumeForm)

    def act(saved: Saved) -> Response:
        made = runs_service.resume(run, hypothesis=form.hypothesis.data or "", hands_in=form.hands.data == "yes", by=actor(),
                                   now=clock.now())
        flash(f"Resumed at step {made.resumed_from}. Entries from there on are taken again.", "saved")
        return saved("powerup.step", order_id=order_id, step_id=made.resumed_from)

    return save_or_reshow(form, act) or render_template("powerup/resume.html", order=order, run=run, form=form, halted=halted,
                                                        step=STEPS[halted.step], has_errors=form.has_errors)


def _failed(found: Where, step_id: int) -> tuple[str, str, str]:
    """What failed in words, its area and place: what the finding starts from."""
    for item, go in found.states[step_id].items:
        if go is not Go.ABORT:
            continue
        mark = item.key.partition(":")[2]
        entry = found.standing.get((step_id, item.key))
        if entry is not None and entry.reading is not None:
            band = f", expected {entry.reading.band}" if entry.reading.band else ""
            return f"First power-up, {item.title}: {entry.reading.words}{band}", item.area, mark
        if entry is not None and entry.round is not None:
            return _bias_failed(found, entry.round.id, item.area)
        if item.key == "soak" and (soak := queries.soak_of(found.run)) is not None:
            return f"First power-up, soak run: {queries.soak_verdict(found.run, soak)[1]}", item.area, ""
        return f"First power-up, “{item.title}”: {entry.words if entry else 'it showed'}", item.area, mark
    return "", Area.OUTPUT.value, ""


def _bias_failed(found: Where, round_id: int, area: str) -> tuple[str, str, str]:
    entry = next(one for one in found.run.entries if one.round_id == round_id)
    _, why = verdict_of(found.run, entry)
    read = ", ".join(f"{one.mark} {one.current.words}" for one in entry.round.valves) if entry.round else ""
    return f"First power-up, bias: {why} Read: {read}"[:300], area, why.partition(":")[0] if ":" in why else ""
