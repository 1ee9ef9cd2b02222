"""The safety page of an order, and its tests step by step."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, RuleBroken
from app.findings import queries as findings_queries
from app.intake.rules import NO_ISOLATION
from app.kernel.form_fields import as_typed, read_form
from app.kernel.saving import saving
from app.measuring import queries as measuring
from app.measuring.rules import Verdict
from app.orders.gates import missing_in
from app.orders.loading import load_order
from app.orders.stages import Stage
from app.reassembly.queries.fitting import fitted
from app.records.rules import ProtectionClass
from app.safety import queries
from app.safety.forms import AnswerForm, CompleteForm, MeasureForm, StartForm, VoidForm, look_form
from app.safety.models.testing import TestStep
from app.safety.rules import FITTING, LEVELS, needs, why_not_yet
from app.safety.service import testing as testing_service
from app.safety.views.common import bp, load_step, load_test
from app.shop.queries import the_shop


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """What is proved and what is not: readings, findings, soak run, tests."""
    order = load_order(order_id)
    tests = [(test, queries.why_void(test)) for test in queries.tests_of(order)]
    findings = findings_queries.findings_of(order)
    # A failed test first: an amp that failed is not run for hours before it is mended.
    missing = sorted(missing_in(order, Stage.SAFETY_TEST), key=lambda one: not one.holds)
    return render_template(
        "safety/page.html", order=order, tests=tests, findings=findings, missing=missing,
        proofs=queries.proof_readings([finding.id for finding in findings]), soaks=queries.soaks_of(order),
        no_soak=queries.why_no_soak(order), needed=the_shop().soak_minutes, profile=queries.profile_in_force(),
        unknown_class=order.amp.protection_class is ProtectionClass.UNKNOWN, running=queries.running_test(order))


@bp.route("/start", methods=["GET", "POST"])
@may(May.TEST)
def start(order_id: int) -> Response | str:
    """Begin a test with the lead that goes home."""
    order = load_order(order_id, May.TEST)
    form = read_form(StartForm, mains_v=the_shop().mains_v)
    protection = order.amp.protection_class
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                test = testing_service.start_test(order, form.setup(protection.value), by=actor(), now=clock.now())
                return saved("safety.test", order_id=order_id, test_id=test.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/start.html", order=order, form=form, profile=queries.profile_in_force(),
                           protection=protection, unknown=protection is ProtectionClass.UNKNOWN, fitted=fitted(order),
                           has_errors=form.has_errors)


@bp.get("/tests/<int:test_id>")
@may(May.SEE)
def test(order_id: int, test_id: int) -> str:
    """One test: its steps, what was found, and its result."""
    order, found = load_test(order_id, test_id, May.SEE)
    return render_template("safety/test.html", order=order, test=found, void=queries.why_void(found),
                           to_look=len(_to_look(found.steps)), form=read_form(CompleteForm, tag=found.tag),
                           no_isolation=NO_ISOLATION,
                           following=_following(found.steps), failed=[one for one in found.steps if one.verdict is Verdict.FAIL])


@bp.route("/tests/<int:test_id>/look", methods=["GET", "POST"])
@may(May.TEST)
def look(order_id: int, test_id: int) -> Response | str:
    """Everything that is looked at before the amp is powered and not answered yet, on one page."""
    order, found = load_test(order_id, test_id, May.TEST)
    steps = _to_look(found.steps)
    if not steps:
        return redirect(url_for("safety.test", order_id=order_id, test_id=test_id), code=303)
    form = read_form(look_form(steps))
    if request.method == "POST" and form.validate() and not any(form[f"seen_{step.id}"].data for step in steps):
        form.add_error(BadInput("Nothing is answered: say yes or no to what was looked at. An empty inspection records nothing."))
    elif request.method == "POST" and not form.has_errors:
        try:
            with saving() as saved:
                for step in steps:
                    if seen := form[f"seen_{step.id}"].data:
                        testing_service.answer(step, seen=seen == "yes", words=form[f"words_{step.id}"].data or "", by=actor(),
                                       now=clock.now())
                return saved("safety.test", order_id=order_id, test_id=test_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/look.html", order=order, test=found, steps=steps, form=form, has_errors=form.has_errors)


@bp.post("/tests/<int:test_id>/complete")
@may(May.TEST)
def complete(order_id: int, test_id: int) -> Response:
    """Compute the result."""
    _, found = load_test(order_id, test_id, May.TEST)
    form = read_form(CompleteForm)
    with saving() as saved:
        testing_service.complete_test(found, tag=form.tag.data or "", by=actor(), now=clock.now())
        flash(f"Safety test {found.number}: {found.result.value if found.result else ''}.", "saved")
        return saved("safety.test", order_id=order_id, test_id=test_id)


@bp.route("/tests/<int:test_id>/void", methods=["GET", "POST"])
@may(May.TEST)
def void(order_id: int, test_id: int) -> Response | str:
    """The chassis is open again: the test no longer counts."""
    order, found = load_test(order_id, test_id, May.TEST)
    form = read_form(VoidForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            testing_service.void_test(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"Safety test {found.number} is void.", "saved")
            return saved("safety.page", order_id=order_id)
    return render_template("safety/void.html", order=order, test=found, form=form, has_errors=form.has_errors)


@bp.route("/steps/<int:step_id>", methods=["GET", "POST"])
@may(May.TEST)
def step(order_id: int, step_id: int) -> Response | str:
    """One step: look and answer, or measure."""
    order, found = load_step(order_id, step_id, May.TEST)
    if why := queries.why_void(found.test):
        raise RuleBroken(f"This test is void. {why} Begin a new one.")
    form = _step_form(found)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                _do(found, form)
                flash(f"{found.title}: {found.verdict.word if found.verdict else ''}.", "saved")
                after = _following(found.test.steps)
                if after is None or found.verdict is not Verdict.PASS:
                    return saved("safety.test", order_id=order_id, test_id=found.test_id)
                return saved("safety.step", order_id=order_id, step_id=after.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/step.html", order=order, step=found, test=found.test, form=form,
                           seen=found.kind.is_seen, waits=_waits(found, found.test.steps), level_asked=LEVELS.get(found.kind),
                           needs=needs(found.kind) if found.quantity else "", has_errors=form.has_errors,
                           place=found.test.steps.index(found) + 1)


def _step_form(step: TestStep) -> AnswerForm | MeasureForm:
    if step.kind.is_seen:
        return read_form(AnswerForm)
    form = read_form(MeasureForm, condition=step.condition, instrument=_last_instrument(step), level=_last_level(step))
    form.unit_of_level = LEVELS[step.kind].unit if step.kind in LEVELS else ""
    day = measuring.today(clock.now())
    here = [one for one in measuring.usable() if one.kind in FITTING[step.kind]]
    form.offer(here, {one.id: one.standing(day).value for one in here})
    return form


def _do(step: TestStep, form: AnswerForm | MeasureForm) -> None:
    if isinstance(form, AnswerForm):
        testing_service.answer(step, seen=form.seen.data == "yes", words=form.words.data or "", reason=form.reason.data or "",
                       by=actor(), now=clock.now())
        return
    if form.none_there.data:
        testing_service.none_there(step, words=form.words.data or "", reason=form.reason.data or "", by=actor(), now=clock.now())
        return
    meter = measuring.find_instrument(form.instrument.data)
    if meter is None:
        raise BadInput("Choose an instrument.", "instrument")
    testing_service.measure(step, typed=form.typed.data or "", instrument=meter, level=form.level_si,
                            zero_is_real=form.zero_is_real.data,
                            condition=form.condition.data or "", words=form.words.data or "", reason=form.reason.data or "",
                            by=actor(), now=clock.now())


def _last_instrument(step: TestStep) -> int | None:
    """The tester in hand: the one of the step before, so that it need not be chosen each time."""
    read = [one.outcome.reading for one in step.test.steps if one.outcome and one.outcome.reading]
    return read[-1].instrument_id if read else None


def _last_level(step: TestStep) -> str:
    """What the tester was set to before, at this step or one of its kind."""
    used = [one.level for other in step.test.steps if other.kind is step.kind for one in other.outcomes if one.level]
    return as_typed(used[-1]) if used else ""


def _to_look(steps: list[TestStep]) -> list[TestStep]:
    return [step for step in steps if step.kind.is_unplugged and step.verdict is None]


def _following(steps: list[TestStep]) -> TestStep | None:
    """The next step to do; none once one has failed."""
    if any(step.verdict is Verdict.FAIL for step in steps):
        return None
    return next((step for step in steps if step.verdict is None and not _waits(step, steps)),
                next((step for step in steps if step.verdict is Verdict.UNDECIDED), None))


def _waits(step: TestStep, steps: list[TestStep]) -> str:
    return why_not_yet(step.kind, [(one.kind, one.title, one.verdict) for one in steps if one is not step])
