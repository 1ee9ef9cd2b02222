"""The run as a whole: its steps, its beginning and its end."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow, saving
from app.orders import power
from app.orders.loading import load_order
from app.orders.service import must_be_open
from app.powerup import gate, queries
from app.powerup.forms import BeginForm, ReasonForm, TrialForm
from app.powerup.rules.course import current
from app.powerup.rules.trials import SOURCE, TrialKind
from app.powerup.service import entries as entries_service
from app.powerup.service import runs as runs_service
from app.powerup.views.common import bp, load_run, said_of
from app.safety import queries as safety_queries


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """Every step with what it came to, and what is next."""
    order, run = load_order(order_id), queries.run_of(order_id)
    found = queries.where(run.id) if run else None
    soak = queries.soak_of(run) if run else None
    return render_template(
        "powerup/page.html", order=order, run=run, found=found, runs=queries.runs_of(order_id), powered=power.powered(order_id),
        now_at=current(found.states) if found else None, tried=queries.tried(run.id) if run else [], bound_source=SOURCE,
        soak=soak, soak_said=queries.soak_verdict(run, soak) if run and soak else None, waiver=queries.waiver_of(order_id),
        asked=gate.asks(order), fallen=gate.why_fallen(run) if run and run.finished else "",
        rounds=said_of(found.run) if found else [])


@bp.route("/begin", methods=["GET", "POST"])
@may(May.TEST)
def begin(order_id: int) -> Response | str:
    """Begin a run with what is known of the amp; a run before it is started from."""
    order, last = load_order(order_id, May.TEST), queries.run_of(order_id)
    must_be_open(order)
    form = read_form(BeginForm, **({
        "valve": last.valve, "marks": last.marks, "small": last.small, "biased": last.biased.value,
        "rectifier": "silicon" if last.silicon else "valve", "heater_v": last.heater_v, "load_ohm": last.load_ohm,
        "expected_w": last.expected_w, "expected_source": last.expected_source} if last else {"heater_v": 6.3}))

    def act(saved: Saved) -> Response:
        runs_service.begin(order, form.begun(), by=actor(), now=clock.now())
        flash("First power-up begun. Each step waits for the one before it.", "saved")
        return saved("powerup.step", order_id=order_id, step_id=0)

    return save_or_reshow(form, act) or render_template("powerup/begin.html", order=order, form=form, has_errors=form.has_errors)


@bp.route("/stop", methods=["GET", "POST"])
@may(May.TEST)
def stop(order_id: int) -> Response | str:
    """Give the run up, with a reason."""
    order, run = load_run(order_id)
    form = read_form(ReasonForm)

    def act(saved: Saved) -> Response:
        runs_service.stop(run, reason=form.reason.data or "", by=actor(), now=clock.now())
        flash("First power-up stopped.", "saved")
        return saved("powerup.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("powerup/reason.html", order=order, form=form, run=run, waiving=False,
                                                        has_errors=form.has_errors)


@bp.post("/finish")
@may(May.TEST)
def finish(order_id: int) -> Response:
    """All steps are done."""
    _, run = load_run(order_id)
    with saving() as saved:
        runs_service.finish(run, by=actor(), now=clock.now())
        flash("First power-up finished: every step is go, within limits that nobody compared yet, or says why it is not judged.",
              "saved")
        return saved("powerup.page", order_id=order_id)


@bp.post("/off")
@may(May.WORK)
def off(order_id: int) -> Response:
    """It is off and unplugged."""
    _, run = load_run(order_id, May.WORK)
    with saving() as saved:
        runs_service.switch_off(run, by=actor(), now=clock.now())
        flash("Recorded as off and unplugged. Its capacitors may still be charged: discharge and measure before hands go in.",
              "saved")
        return saved("powerup.page", order_id=order_id)


@bp.route("/without", methods=["GET", "POST"])
@may(May.SETTINGS)
def waive(order_id: int) -> Response | str:
    """The owner answers for an amp that leaves without a finished run."""
    order = load_order(order_id, May.SETTINGS)
    form = read_form(ReasonForm)

    def act(saved: Saved) -> Response:
        runs_service.waive(order, reason=form.reason.data or "", by=actor(), now=clock.now())
        flash("Recorded, with your name.", "saved")
        return saved("powerup.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("powerup/reason.html", order=order, form=form, run=None, waiving=True,
                                                        has_errors=form.has_errors)


@bp.route("/trials", methods=["GET", "POST"])
@may(May.TEST)
def trials(order_id: int) -> Response | str:
    """Cold starts, taps and other trials: how many, and in how many it showed."""
    order, run = load_run(order_id)
    form = read_form(TrialForm)

    def act(saved: Saved) -> Response:
        made = entries_service.tried(run, TrialKind(form.kind.data), trials=form.trials.data, shown=form.shown.data,
                                     words=form.words.data or "", by=actor(), now=clock.now())
        flash(f"{made.kind.value.capitalize()}: {made.tried.words}.", "refused" if made.shown else "saved")
        return saved("powerup.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "powerup/trials.html", order=order, form=form, run=run, tried=queries.tried(run.id), bound_source=SOURCE,
        soaking=safety_queries.running_soak(order), has_errors=form.has_errors)
