"""Stages with the mains on: power up, read at each point, switch off, and dead again before hands go in."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.discharge import queries as discharge
from app.errors import BadInput, NotFound
from app.kernel.form_fields import House, read_form
from app.kernel.saving import Saved, save_or_reshow
from app.measuring.models import Instrument
from app.measuring.rules import Verdict, say_band
from app.orders import power
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.reassembly.forms import stage_form
from app.reassembly.queries.limits import passed_at, points_of
from app.reassembly.rules import POWERED
from app.reassembly.service import powered as powered_service
from app.reassembly.views.common import bp, meters_for, planned


@bp.route("/stage/<path:step>", methods=["GET", "POST"])
@may(May.WORK)
def stage(order_id: int, step: str) -> Response | str:
    """One reading of a stage."""
    order = load_order(order_id, May.WORK)
    kind = _form_of(order, step)
    usable = meters_for(order, POWERED[planned(order, step).origins[step][0]])
    form = read_form(kind, **_as_before(order, step))
    form.offer(usable)

    def act(saved: Saved) -> Response:
        meter = next((one for one in usable if one.id == form.instrument.data), None)
        if meter is None:
            raise BadInput("Choose the meter.", "instrument")
        reading = powered_service.read_stage(
            order, step, point=form.point.data, typed=form.typed.data, instrument=meter, lower=form.lower.data,
            upper=form.upper.data, basis=form.basis.data or "", zero_is_real=form.zero_is_real.data, by=actor(), now=clock.now())
        said = f"{reading.point}: {reading.words}, {say_band(reading.lower, reading.upper, reading.unit)}: {reading.said[1]}."
        if not reading.passed:
            why = "Read it with an instrument in date." if reading.verdict is Verdict.PASS else \
                f"{reading.why} Switch off before you look for the cause."
            flash(f"{said} {why}", "refused")
            return saved("reassembly.stage", order_id=order_id, step=step)
        flash(said, "saved")
        done = step in planned(order, step).records
        return saved("reassembly.page", order_id=order_id) if done else saved("reassembly.stage", order_id=order_id, step=step)

    return save_or_reshow(form, act) or _page(order, step, form, usable)


@bp.post("/stage-done/<path:step>")
@may(May.WORK)
def stage_done(order_id: int, step: str) -> Response | str:
    """Every point of a stage is read."""
    order = load_order(order_id, May.WORK)

    def act(saved: Saved) -> Response:
        made = powered_service.finish_stage(order, step, by=actor(), now=clock.now())
        flash(f"{made.label}: done.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(read_form(House), act) or redirect(url_for("reassembly.stage", order_id=order_id, step=step), code=303)


@bp.post("/dead/<path:step>")
@may(May.WORK)
def dead(order_id: int, step: str) -> Response | str:
    """Off, discharged and measured, by the discharge record."""
    order = load_order(order_id, May.WORK)

    def act(saved: Saved) -> Response:
        made = powered_service.prove_dead(order, step, by=actor(), now=clock.now())
        flash(f"{made.label}: done.", "saved")
        return saved("reassembly.page", order_id=order_id)

    form = read_form(House)
    return save_or_reshow(form, act) or redirect(url_for("reassembly.page", order_id=order_id), code=303)


def _form_of(order: RepairOrder, step: str) -> type[Any]:
    what = planned(order, step).origins[step][0]
    if what not in POWERED:
        raise NotFound("This step is no stage with the mains on.")
    return stage_form(POWERED[what].unit)


def _as_before(order: RepairOrder, step: str) -> dict[str, Any]:
    """The expectation of the reading before at this stage: the second valve should read what the first does."""
    way = planned(order, step)
    last = max(passed_at(way, step, every=True).values(), key=lambda one: one.id, default=None)
    return {"lower": last.lower, "upper": last.upper, "basis": last.basis} if last else {}


def _page(order: RepairOrder, step: str, form: Any, usable: list[Instrument]) -> str:
    way = planned(order, step)
    named, taken = points_of(way, step), passed_at(way, step, every=True)
    if form.point.data is None:
        form.point.data = next((one for one in named if one not in passed_at(way, step)), "")
    return render_template("reassembly/stage.html", order=order, way=way, step=way.steps[step], form=form, named=named, taken=taken,
                           unit=POWERED[way.origins[step][0]].unit, on=power.powered(order.id), meters=usable,
                           safe=discharge.shown(order), has_errors=form.has_errors)
