"""One step at the bench: one item at a time, the step_id large."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound
from app.kernel.form_fields import House, read_form
from app.kernel.saving import Saved, save_or_reshow
from app.measuring.rules import say_band
from app.orders import power
from app.orders.models import RepairOrder
from app.powerup import queries
from app.powerup.forms import LeaveForm, LookForm, ReadForm
from app.powerup.models import PowerUpEntry, PowerUpRun
from app.powerup.queries import Where
from app.powerup.rules.course import Go, StepState, current, next_item, why_not_left
from app.powerup.rules.items import Item, Sort
from app.powerup.rules.power import AT_1K, LEAST_SHARE
from app.powerup.rules.steps import STEPS
from app.powerup.service import entries as entries_service
from app.powerup.service.entries import FITS, Given
from app.powerup.views.common import bp, load_run, meter, meters


@bp.route("/steps/<int:step_id>", methods=["GET", "POST"])
@may(May.TEST)
def step(order_id: int, step_id: int) -> Response | str:
    """The item of a step that is next, or the one asked for."""
    order, run = load_run(order_id)
    if not 0 <= step_id < len(STEPS):
        raise NotFound("There is no such step.")
    found = queries.where(run.id)
    state = found.states[step_id]
    item = _item(state)
    if item is None or item.sort in (Sort.TRIALS, Sort.TEST) or step_id == 12:
        return _shown(order, run, found, state, item, None)
    if item.sort is Sort.BIAS:
        return redirect(url_for("powerup.bias", order_id=order_id, step_id=step_id), code=303)
    form = _form(found, step_id, item)

    def act(saved: Saved) -> Response:
        _enter(run, step_id, item, form)
        after = queries.where(run.id)
        go = next(go for one, go in after.states[step_id].items if one.key == item.key)
        word = "not judged: it has no limits yet" if go is Go.OPEN else go.value
        if item.kept and go is Go.NOT_JUDGED:
            word = f"kept, {queries.beside(after, step_id).get(item.key, 'not judged')}"
        flash(f"{item.title}: {word}.", "saved" if go is Go.GO or item.kept and go is Go.NOT_JUDGED else "refused")
        return saved("powerup.step", order_id=order_id, step_id=_next(after, step_id))

    return save_or_reshow(form, act) or _shown(order, run, found, state, item, form)


@bp.route("/steps/<int:step_id>/leave/<key>", methods=["GET", "POST"])
@may(May.TEST)
def leave(order_id: int, step_id: int, key: str) -> Response | str:
    """An item that nobody can judge, with the reason."""
    order, run = load_run(order_id)
    items = queries.where(run.id).states[step_id].items if step_id < len(STEPS) else ()
    item = next((one for one, _ in items if one.key == key), None)
    if item is None:
        raise NotFound("There is no such item.")
    form = read_form(LeaveForm)

    def act(saved: Saved) -> Response:
        entries_service.leave(run, step_id, key, why=form.left_why.data or "", by=actor(), now=clock.now())
        flash(f"{item.title}: not judged.", "saved")
        return saved("powerup.step", order_id=order_id, step_id=_next(queries.where(run.id), step_id))

    return save_or_reshow(form, act) or render_template("powerup/leave.html", order=order, run=run, form=form, item=item,
                                                        step=STEPS[step_id], has_errors=form.has_errors)


def _next(found: Where, step_id: int) -> int:
    """Where it goes on: at the first step that is not done, but never past one whose entry does not let it."""
    after = current(found.states)
    return step_id if after is None else after.step.number


def _item(state: StepState) -> Item | None:
    asked = request.args.get("item") or request.form.get("power_up_item") or ""
    chosen = next((one for one, _ in state.items if one.key == asked), None)
    if asked and chosen is None:
        raise NotFound("There is no such item at this step.")
    failed = next((one for one, go in state.items if go is Go.ABORT), None)
    return chosen or failed or next_item(state)


def _form(found: Where, step_id: int, item: Item) -> House:
    if item.sort is Sort.DISCHARGE:
        return read_form(House)
    if item.sort is Sort.LOOK:
        return read_form(LookForm)
    form = read_form(ReadForm, **_before(found, step_id, item))
    here, standing = meters()
    fits = FITS.get(item.tester)
    form.offer([one for one in here if fits is None or one.kind in fits], standing)
    return form


def _before(found: Where, step_id: int, item: Item) -> dict[str, Any]:
    """The meter in hand, and the band that was typed for this item or for its neighbour on another valve."""
    read = [one for one in found.run.entries if one.reading is not None]
    kind = item.key.split(":")[0]
    alike = [one.reading for one in read if one.item.split(":")[0] == kind and one.step == step_id and one.reading]
    start: dict[str, Any] = {}
    if read and read[-1].reading:
        start["instrument"] = read[-1].reading.instrument_id
    if alike and not item.fixed:
        last = alike[-1]
        start |= {"lower": _typed(last.lower), "upper": _typed(last.upper), "source": last.basis}
    elif item.band is not None and not item.fixed:
        start |= {"lower": _typed(item.band.lower), "upper": _typed(item.band.upper), "source": item.band.source}
    return start


def _typed(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _enter(run: PowerUpRun, step_id: int, item: Item, form: House) -> PowerUpEntry:
    by, now = actor(), clock.now()
    if isinstance(form, LookForm):
        seen = form.seen.data == "yes"
        return entries_service.look(run, step_id, item.key, seen=seen, words=form.words.data or "", by=by, now=now)
    if isinstance(form, ReadForm):
        given = Given(form.typed.data or "", meter(form.instrument.data, "instrument"), form.band(item), form.level_si(item.tester),
                      bool(form.zero_is_real.data), form.words.data or "", form.correcting.data or "")
        return entries_service.measure(run, step_id, item.key, given, by=by, now=now)
    return entries_service.discharged(run, by=by, now=now)


def _shown(order: RepairOrder, run: PowerUpRun, found: Where, state: StepState, item: Item | None, form: House | None) -> str:
    step_id = state.step.number
    entry = found.standing.get((step_id, item.key)) if item else None
    band = say_band(item.band.lower, item.band.upper, item.quantity.unit) if item and item.band and item.quantity else ""
    soak = queries.soak_of(run)
    return render_template(
        "powerup/step.html", order=order, run=run, found=found, state=state, step=state.step, item=item, form=form, entry=entry,
        band=band, waits=found.waits(step_id), powered=power.powered(order.id), count=len(STEPS),
        go=next((go for one, go in state.items if item and one.key == item.key), None),
        power=queries.power_of(found.run, entry) if entry and entry.item == AT_1K else None,
        beside=queries.beside(found, step_id),
        least_w=LEAST_SHARE * run.expected_w if run.expected_w else None, cannot_leave=why_not_left(item) if item else "",
        soak=soak, soak_said=queries.soak_verdict(run, soak) if soak and step_id == 12 else None,
        tried=queries.tried(run.id) if step_id in (12, 14) else [], has_errors=bool(form and form.has_errors))
