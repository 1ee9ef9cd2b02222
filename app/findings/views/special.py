"""Wires that weep, and boards that leak: the parts of a finding with pages of their own."""

from __future__ import annotations

from collections.abc import Sequence

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.db import session
from app.errors import BadInput, NotFound
from app.findings import queries
from app.findings.forms.findings import ReasonForm
from app.findings.forms.special import BakeForm, EndBakeForm, LeakageForm, WireForm
from app.findings.models.special import BakeOut, FindingWire, LeakageReading, Round
from app.findings.rules.wires import covered
from app.findings.service import special as special_service
from app.findings.service.special import USUAL_CELSIUS, USUAL_HOURS
from app.findings.views.room import bp, load_finding
from app.kernel.form_fields import read_form
from app.kernel.saving import saving


@bp.route("/findings/<int:finding_id>/wires", methods=["GET", "POST"])
@may(May.SEE)
def wires(order_id: int, finding_id: int) -> Response | str:
    """The wires that a finding covers, and which of them go."""
    order, found = load_finding(order_id, finding_id)
    rows = queries.wires_of(found)
    form = read_form(WireForm, **({"colour": rows[-1].colour, "run": rows[-1].run} if rows else {}))
    if request.method == "POST":
        allow(May.WORK)
        if form.validate():
            with saving() as saved:
                special_service.list_wire(found, colour=form.colour.data, run=form.run.data, from_end=form.from_end.data,
                                  to_end=form.to_end.data, weeps=form.weeps.data, by=actor(), now=clock.now())
                flash("Listed.", "saved")
                return saved("findings.wires", order_id=order_id, finding_id=finding_id)
    return render_template("findings/wires.html", order=order, finding=found, form=form, wires=rows,
                           goes=covered(row.wire for row in rows), has_errors=form.has_errors)


@bp.post("/findings/<int:finding_id>/wires/<int:wire_id>/strike")
@may(May.WORK)
def strike_wire(order_id: int, finding_id: int, wire_id: int) -> Response:
    _, found = load_finding(order_id, finding_id, May.WORK)
    wire = session().get(FindingWire, wire_id)
    if wire is None or wire.finding_id != found.id:
        raise NotFound("There is no such wire.")
    with saving() as saved:
        special_service.strike_wire(found, wire, by=actor(), now=clock.now())
        flash("Struck out.", "saved")
        return saved("findings.wires", order_id=order_id, finding_id=finding_id)


@bp.route("/findings/<int:finding_id>/leakage", methods=["GET", "POST"])
@may(May.SEE)
def leakage(order_id: int, finding_id: int) -> Response | str:
    """A board's leakage before and after, and its drying in between."""
    order, found = load_finding(order_id, finding_id)
    readings = queries.leakage_of(found)
    bakes = queries.bake_outs_of(found)
    form = read_form(LeakageForm, **_usual(readings, dried=any(bake.ended_at for bake in bakes)))
    if request.method == "POST":
        allow(May.WORK)
        if form.validate():
            try:
                with saving() as saved:
                    special_service.measure_leakage(found, round=form.round.data, between=form.between.data,
                                            source_v=form.source_v.data or 0.0, meter_v=form.meter_v.data or 0.0,
                                            meter_ohm=form.meter_ohm.data or 0.0, instrument=form.instrument.data, by=actor(),
                                            now=clock.now())
                    flash("The leakage is recorded.", "saved")
                    return saved("findings.leakage", order_id=order_id, finding_id=finding_id)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("findings/leakage.html", order=order, finding=found, form=form, readings=readings, bakes=bakes,
                           now=clock.now(), has_errors=form.has_errors)


def _usual(readings: Sequence[LeakageReading], *, dried: bool) -> dict[str, object]:
    """The next reading is likely to be taken as the last one was."""
    last = readings[-1] if readings else None
    return {"round": Round.AFTER if dried else Round.BEFORE, "meter_ohm": last.meter_ohm if last else 10e6,
            "source_v": last.source_v if last else None, "between": last.between if last else "",
            "instrument": last.instrument if last else ""}


@bp.route("/findings/<int:finding_id>/leakage/<int:reading_id>/strike", methods=["GET", "POST"])
@may(May.WORK)
def strike_leakage(order_id: int, finding_id: int, reading_id: int) -> Response | str:
    order, found = load_finding(order_id, finding_id, May.WORK)
    reading = session().get(LeakageReading, reading_id)
    if reading is None or reading.finding_id != found.id:
        raise NotFound("There is no such reading.")
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            special_service.strike_leakage(found, reading, reason=form.reason.data, by=actor(), now=clock.now())
            flash("The reading is struck.", "saved")
            return saved("findings.leakage", order_id=order_id, finding_id=finding_id)
    return render_template("findings/strike_leakage.html", order=order, finding=found, reading=reading, form=form,
                           has_errors=form.has_errors)


@bp.route("/findings/<int:finding_id>/bake-out", methods=["GET", "POST"])
@may(May.WORK)
def bake(order_id: int, finding_id: int) -> Response | str:
    """Start drying a board in warmth: the cautions first."""
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(BakeForm, hours=USUAL_HOURS, celsius=USUAL_CELSIUS)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            special_service.start_bake_out(found, hours=form.hours.data, celsius=form.celsius.data, by=actor(), now=clock.now())
            flash("The bake-out has begun.", "saved")
            return saved("findings.leakage", order_id=order_id, finding_id=finding_id)
    return render_template("findings/bake.html", order=order, finding=found, form=form, has_errors=form.has_errors)


@bp.route("/findings/<int:finding_id>/bake-out/<int:bake_id>/end", methods=["GET", "POST"])
@may(May.WORK)
def end_bake(order_id: int, finding_id: int, bake_id: int) -> Response | str:
    """It is out of the warmth."""
    order, found = load_finding(order_id, finding_id, May.WORK)
    running = session().get(BakeOut, bake_id)
    if running is None or running.finding_id != found.id:
        raise NotFound("There is no such bake-out.")
    form = read_form(EndBakeForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            special_service.end_bake_out(running, note=form.note.data or "", by=actor(), now=clock.now())
            flash("Ended. Let it cool, then measure its leakage again.", "saved")
            return saved("findings.leakage", order_id=order_id, finding_id=finding_id)
    return render_template("findings/end_bake.html", order=order, finding=found, bake=running, form=form, now=clock.now(),
                           has_errors=form.has_errors)
