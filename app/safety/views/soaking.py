"""The soak run and the proofs of findings."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.findings import queries as findings_queries
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.measuring import queries as measuring
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.reassembly.gate import closed_up
from app.safety import queries
from app.safety.forms import ProofForm, SoakEndForm, SoakStartForm
from app.safety.models.testing import SoakRun
from app.safety.service import proofs as proofs_service
from app.safety.service import soaking as soaking_service
from app.safety.views.common import bp
from app.shop.queries import the_shop


@bp.route("/soak", methods=["GET", "POST"])
@may(May.TEST)
def soak(order_id: int) -> Response | str:
    """Begin a soak run."""
    order = load_order(order_id, May.TEST)
    form = read_form(SoakStartForm, mains_v=the_shop().mains_v, attended=True)
    running = queries.running_soak(order)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            soaking_service.start_soak(order, load=form.load.data, attended=form.attended.data, mains_v=form.mains_v.data,
                               by=actor(), now=clock.now())
            flash("The soak run is on.", "saved")
            return saved("safety.page", order_id=order_id)
    end = SoakEndForm() if running else None
    return render_template("safety/soak.html", order=order, form=form, running=running, end=end,
                           needed=the_shop().soak_minutes, running_minutes=_minutes(running), why_not=_why_not(order, running),
                           has_errors=form.has_errors)


@bp.route("/soak/<int:soak_id>/end", methods=["GET", "POST"])
@may(May.TEST)
def end_soak(order_id: int, soak_id: int) -> Response | str:
    """End it and say what it showed."""
    order, run = load_order(order_id, May.TEST), queries.find_soak(soak_id)
    if run is None or run.order_id != order_id:
        raise NotFound("There is no such soak run on this order.")
    form = read_form(SoakEndForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            soaking_service.end_soak(run, symptom_shown=form.symptom.data == "yes", observations=form.observations.data,
                                     interrupted=form.interrupted.data or "",
                             by=actor(), now=clock.now())
            why = run.came.why_not if run.came else ""
            flash(f"The soak run is recorded. {why or 'It counts.'}", "refused" if why else "saved")
            return saved("safety.page", order_id=order_id)
    return render_template("safety/soak.html", order=order, form=None, running=run, end=form, needed=run.needed_minutes,
                           running_minutes=_minutes(run), why_not="",
                           has_errors=form.has_errors)


def _minutes(run: SoakRun | None) -> int:
    """Minutes gone, those carried on from an interrupted run included."""
    return 0 if run is None else run.carried_minutes + int((clock.now() - run.started_at).total_seconds() // 60)


def _why_not(order: RepairOrder, running: SoakRun | None) -> str:
    return "" if running is not None else closed_up(order) or queries.why_not_proven(order)


@bp.route("/findings/<int:finding_id>", methods=["GET", "POST"])
@may(May.WORK)
def prove(order_id: int, finding_id: int) -> Response | str:
    """What a finding's check showed, with the reading it rests on."""
    order, finding = load_order(order_id, May.WORK), findings_queries.find_finding(finding_id)
    if finding is None or finding.order_id != order_id:
        raise NotFound("There is no such finding on this order.")
    form = read_form(ProofForm, reading=0)
    form.offer(measuring.standing_readings(order))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                reading = measuring.find_reading(form.reading.data) if form.reading.data else None
                proofs_service.prove(finding, result=form.result.data, reading=reading, instrument=form.instrument.data or "",
                              by=actor(), now=clock.now())
                flash(f"{finding.title} is proved.", "saved")
                return saved("safety.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/prove.html", order=order, finding=finding, form=form, has_errors=form.has_errors)
