"""Readings of an order: the page, taking, correcting, explaining."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.kept import queries as kept
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.saving import saving
from app.measuring import queries
from app.measuring.forms import CorrectionForm, ExplanationForm, ReadingForm
from app.measuring.models import Point, Reading
from app.measuring.queries import as_found_as_left
from app.measuring.rules import Phase
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from app.measuring.views.common import bp, load_instrument, load_point, load_reading, offer_instruments
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.stages import Stage


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """Every point with what it should read, what it read, and the verdict."""
    order = load_order(order_id)
    return render_template("measuring/page.html", order=order, rows=as_found_as_left(order), phase=_phase(order),
                           following=_following(order, _phase(order)), last=_last(order))


@bp.post("/lay-out")
@may(May.WORK)
def lay_out(order_id: int) -> Response:
    """The shop's usual points, those that are not there yet."""
    order = load_order(order_id, May.WORK)
    with saving() as saved:
        made = points_service.lay_out(order, by=actor(), now=clock.now())
        laid_out = f"{counted(len(made), 'point')} added."
        flash(laid_out if made else "Every usual point is there already.", "saved")
        return saved("measuring.page", order_id=order_id)


@bp.get("/next")
@may(May.WORK)
def following(order_id: int) -> Response:
    """On to the first point that has no reading of this phase yet."""
    order = load_order(order_id, May.WORK)
    point = _following(order, _asked(order))
    if point is None:
        return redirect(url_for("measuring.page", order_id=order_id), code=303)
    return redirect(url_for("measuring.take", order_id=order_id, point_id=point.id, phase=_asked(order).value), code=303)


@bp.route("/points/<int:point_id>/read", methods=["GET", "POST"])
@may(May.WORK)
def take(order_id: int, point_id: int) -> Response | str:
    """Read one point."""
    order, point = load_point(order_id, point_id, May.WORK)
    form = read_form(ReadingForm, phase=_asked(order), powered="on" if point.quantity.needs_power else "off", **_as_before(order))
    here = offer_instruments(form, point.quantity)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = readings_service.take(order, _taken(point, form), by=actor(), now=clock.now())
                flash(f"{made.point}: {made.words}, {made.verdict.word}.", "saved")
                return saved("measuring.following", order_id=order_id, phase=made.phase.value)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/take.html", order=order, point=point, form=form, instruments=here, corrects=None,
                           uses=kept.of_point(order_id, point_id),
                           has_errors=form.has_errors)


@bp.route("/<int:reading_id>/correct", methods=["GET", "POST"])
@may(May.WORK)
def correct(order_id: int, reading_id: int) -> Response | str:
    """Enter a reading in place of a wrong one."""
    order, wrong_one = load_reading(order_id, reading_id, May.WORK)
    point = queries.find_point(wrong_one.point_id) if wrong_one.point_id else None
    if point is None:
        raise BadInput("A safety reading is corrected on its test.")
    form = read_form(CorrectionForm, typed=wrong_one.typed, instrument=wrong_one.instrument_id, phase=wrong_one.phase,
                     condition=wrong_one.condition, mains_v=wrong_one.mains_v,
                     powered="on" if wrong_one.quantity.needs_power else "off")
    here = offer_instruments(form, wrong_one.quantity)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = readings_service.correct(wrong_one, _taken(point, form), reason=form.reason.data, by=actor(),
                                       now=clock.now())
                flash(f"{made.point}: {made.words}, {made.verdict.word}. The first reading stays readable.", "saved")
                return saved("measuring.point", order_id=order_id, point_id=point.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/take.html", order=order, point=point, form=form, instruments=here,
                           corrects=wrong_one, uses=kept.of_point(order_id, point.id), has_errors=form.has_errors)


@bp.route("/<int:reading_id>/explain", methods=["GET", "POST"])
@may(May.WORK)
def explain(order_id: int, reading_id: int) -> Response | str:
    """Say why a reading that is no pass may stand."""
    order, reading = load_reading(order_id, reading_id, May.WORK)
    form = read_form(ExplanationForm, explanation=reading.explanation)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            readings_service.explain(reading, words=form.explanation.data, by=actor(), now=clock.now())
            flash(f"{reading.point}: explained.", "saved")
            return saved("measuring.page", order_id=order_id)
    return render_template("measuring/explain.html", order=order, reading=reading, form=form, has_errors=form.has_errors)


def _taken(point: Point, form: ReadingForm) -> Taken:
    return Taken.at(point, form.typed.data, load_instrument(form.instrument.data), form.phase.data,
                    form.condition.data or "", form.mains_v.data, zero_is_real=form.zero_is_real.data,
                    powered=form.powered.data == "on" if form.powered.data else None)


def _phase(order: RepairOrder) -> Phase:
    """What is read now, by the stage: before the parts are in it is as found."""
    return Phase.AS_FOUND if order.stage in (Stage.INTAKE, Stage.TEARDOWN, Stage.QUOTE) else Phase.AS_LEFT


def _asked(order: RepairOrder) -> Phase:
    asked = request.args.get("phase", "")
    return Phase(asked) if asked in list(Phase) else _phase(order)


def _following(order: RepairOrder, phase: Phase) -> Point | None:
    for row in as_found_as_left(order):
        if (row.as_left if phase is Phase.AS_LEFT else row.as_found) is None:
            return row.point
    return None


def _last(order: RepairOrder) -> Reading | None:
    taken = [one for one in queries.standing_readings(order) if one.point_id is not None]
    return taken[0] if taken else None


def _as_before(order: RepairOrder) -> dict[str, Any]:
    """The same meter, mains and conditions as last time: one looks at the amp, not at the form."""
    last = _last(order)
    return {"instrument": last.instrument_id, "condition": last.condition, "mains_v": last.mains_v} if last else {}
