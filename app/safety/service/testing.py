"""A safety test from its start to its result, and what voids it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.electrics import ElectricsError, Sourced, bond_limit
from app.errors import BadInput, RuleBroken
from app.intake.rules import MAINS_JOINED
from app.intake.service import danger as danger_service
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring import insulation
from app.measuring.models import Instrument
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from app.orders import chassis, power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still
from app.reassembly.gate import closed_up
from app.reassembly.queries.fitting import fitted
from app.reassembly.service.fitting import answer_fitted
from app.records.rules import ProtectionClass
from app.safety import queries
from app.safety.models.profiles import Profile, ProfileStep
from app.safety.models.testing import Outcome, SafetyTest, TestStep
from app.safety.rules import FITTING, LEVELS, Mark, StepKind, StepVerdict, needs, result_of, why_level_refused, why_not_yet
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Setup:
    """What a test is done with: the mains lead that goes home (metres, mm² of its earth conductor) and the conditions."""

    lead_metre: float | None = None
    lead_mm2: float | None = None
    lead_words: str = ""
    conditions: str = ""
    mains_v: float | None = None
    conducts: bool | None = None  # a part between mains and metal would at 500 V; None leaves it to the records


def start_test(order: RepairOrder, setup: Setup, *, by: Actor, now: datetime) -> SafetyTest:
    """Begin a test under the profile in force; its limits, computed for this lead, are frozen here."""
    must_be_open(order)
    power.must_not_be_barred(order)
    if off := closed_up(order):
        raise RuleBroken(f"{off} A safety test begins when the amp is whole.")
    profile, protection = _profile(), _protection(order)
    void_if_reopened(order, by=by, now=now)
    if queries.running_test(order) is not None:
        raise RuleBroken("A test is running already. Complete it, or void it with a reason.")
    if protection == "I" and (setup.lead_metre is None or setup.lead_mm2 is None):
        raise BadInput("Enter length and section of the mains lead: the limit depends on them.", "lead_metre")
    conducts = _conducts(order, setup, by=by, now=now)
    steps = [_frozen(step, setup, conducts, replaced=bool(profile.replaced)) for step in profile.steps
             if step.applies.covers(protection)]
    number = max((test.number for test in queries.tests_of(order)), default=0) + 1
    test = SafetyTest(
        order_id=order.id, number=number, profile_id=profile.id, profile_name=profile.name, edition=profile.edition,
        edition_date=profile.edition_date, confirmed_by=profile.confirmed_by, unconfirmed=False, protection=protection,
        lead_metre=setup.lead_metre, lead_mm2=setup.lead_mm2, lead_words=setup.lead_words.strip(),
        conditions=setup.conditions.strip(), mains_v=setup.mains_v, conducts=conducts, started_at=now, started_by=by.name,
        last_opening_id=chassis.last_opening(order.id))
    session().add(test)
    test.steps.extend(steps)
    known = {step.position for step in profile.steps if step.mark in (Mark.SEEN, Mark.SUPERSEDED)}
    # A limit that this lead's length or section takes out of what was seen was in nothing that the owner confirmed.
    test.unconfirmed = profile.unconfirmed or any(step.mark is Mark.MEMORY and step.position in known for step in test.steps)
    record(Event.SAFETY_TEST_STARTED, test, by=by, now=now, after={
        "test": number, "profile": test.title, "class": protection, "lead": _lead(test), "conducts at 500 V": conducts or "nothing",
        "limits": [f"{step.title}: {step.limit}" for step in test.steps if step.quantity]})
    session().flush()
    return test


def answer(step: TestStep, *, seen: bool, words: str = "", reason: str = "", by: Actor, now: datetime) -> Outcome:
    """Yes or no to what was looked at. A no needs words, and so does a fuse: what is fitted."""
    test = _writable(step)
    if not step.kind.is_seen:
        raise RuleBroken("This step is measured, not answered.")
    _its_turn(test, step)
    if not words.strip() and (not seen or step.kind is StepKind.FUSE):
        raise BadInput("Enter the fuse fitted: type, amperes, volts." if step.kind is StepKind.FUSE else
                       "Enter what is wrong.", "words")
    _reason(step, reason)
    if not step.kind.is_unplugged:
        power.power_up(session().get_one(RepairOrder, test.order_id), f"safety step “{step.title}”", by=by, now=now)
    before = _said(step)
    outcome = Outcome(step=step, seen=seen, words=words.strip(), reason=reason.strip(), at=now, by_name=by.name)
    kept = _keep(test, step, outcome, before, by=by, now=now)
    if step.kind is StepKind.ISOLATION and not seen and power.do_not_energise(test.order_id) is None:
        danger_service.impound(session().get_one(RepairOrder, test.order_id), f"{MAINS_JOINED}: {words.strip()}", by=by, now=now)
    return kept


def none_there(step: TestStep, *, words: str = "", reason: str = "", by: Actor, now: datetime) -> Outcome:
    """The amp has no part of the kind that this step measures: somebody looked for one, and says so in place of a reading."""
    test = _writable(step)
    if not step.absent:
        raise RuleBroken("This step is measured on every amp.")
    _its_turn(test, step)
    _reason(step, reason)
    before = _said(step)
    said = f"{step.absent}. {words.strip()}" if words.strip() else f"{step.absent}."
    outcome = Outcome(step=step, seen=True, words=said, reason=reason.strip(), at=now, by_name=by.name)
    return _keep(test, step, outcome, before, by=by, now=now)


def measure(step: TestStep, *, typed: str, instrument: Instrument, level: float | None = None, condition: str = "",
            words: str = "", reason: str = "", zero_is_real: bool = False, by: Actor, now: datetime) -> Outcome:
    """Take the reading of a step, with the current (A) or volts (V) that the tester worked with.

    The instrument must be of the kind that the step asks for and in date; the verdict is guard-banded and computed.
    """
    test = _writable(step)
    if step.quantity is None:
        raise RuleBroken("This step is answered, not measured.")
    _its_turn(test, step)
    if instrument.kind not in FITTING[step.kind]:
        raise BadInput(f"{instrument.name} is a {instrument.kind.value}. {step.title} needs {needs(step.kind)}.", "instrument")
    if why := why_level_refused(step.kind, step.least_level, level, words, test.conducts):
        raise BadInput(why, "level")
    _reason(step, reason)
    before, order = _said(step), session().get_one(RepairOrder, test.order_id)
    if step.kind is StepKind.INSULATION and step.least_level and level and level < step.least_level:
        answer_fitted(order, conducts=True, words=words.strip(), by=by, now=now)
    taken = Taken(point=step.title, quantity=step.quantity, typed=typed, instrument=instrument, lower=step.lower,
                  upper=step.upper, condition=condition.strip() or step.condition, mains_v=test.mains_v,
                  basis=f"{test.title}: {step.source}", zero_is_real=zero_is_real)
    if step.outcome and step.outcome.reading:
        reading = readings_service.correct(step.outcome.reading, taken, reason=reason, by=by, now=now, proves=True)
    else:
        reading = readings_service.take(order, taken, by=by, now=now, proves=True)
    outcome = Outcome(step=step, reading=reading, words=words.strip(), level=level if step.kind in LEVELS else None,
                      reason=reason.strip(), at=now, by_name=by.name)
    return _keep(test, step, outcome, before, by=by, now=now)


def complete_test(test: SafetyTest, *, tag: str = "", by: Actor, now: datetime) -> SafetyTest:
    """Compute the result from what was seen and read."""
    must_be_open_still(test.order_id)
    _running(test)
    came = result_of([StepVerdict(step.title, step.verdict) for step in test.steps], unconfirmed=test.unconfirmed)
    test.completed_at, test.completed_by, test.licence = now, by.name, the_shop().licence
    test.result, test.reasons, test.tag = came.result, "\n".join(came.reasons), tag.strip()
    record(Event.SAFETY_TEST_COMPLETED, test, by=by, now=now, before={"result": None},
           after={"test": test.number, "result": came.result.value, "because": list(came.reasons), "tag": test.tag})
    return test


def void_test(test: SafetyTest, *, reason: str, by: Actor, now: datetime) -> None:
    """It no longer counts: the chassis was opened, the wrong amp was on the bench."""
    must_be_open_still(test.order_id)
    if test.voided_at is not None:
        raise RuleBroken(f"It is void already: {test.void_reason}")
    if not reason.strip():
        raise BadInput("Enter why it no longer counts.", "reason")
    test.voided_at, test.voided_by, test.void_reason = now, by.name, reason.strip()
    record(Event.SAFETY_TEST_VOIDED, test, by=by, now=now, before={"test": test.number, "void": False},
           after={"test": test.number, "void": True}, reason=reason.strip())


def void_if_reopened(order: RepairOrder, *, by: Actor, now: datetime) -> list[SafetyTest]:
    """Write down as void every test after whose start the chassis was opened. They did not count before either."""
    opened = [test for test in queries.tests_of(order) if test.voided_at is None and queries.why_void(test)]
    for test in opened:
        void_test(test, reason=queries.why_void(test), by=by, now=now)
    return opened


def _profile() -> Profile:
    profile = queries.profile_in_force()
    if profile is None:
        raise RuleBroken("No safety profile is in force. The owner chooses one first.")
    return profile


def _protection(order: RepairOrder) -> str:
    found = order.amp.protection_class
    if found is ProtectionClass.UNKNOWN:
        raise BadInput("Enter on the amp’s sheet whether it is class I or class II.", None)
    return found.value


def _conducts(order: RepairOrder, setup: Setup, *, by: Actor, now: datetime) -> str:
    """What lies between mains and metal that conducts at 500 V, "" for nothing; an answer given here is kept for the order."""
    if setup.conducts is not None:
        known = fitted(order)
        if known is None or bool(known.what) is not setup.conducts:
            answer_fitted(order, conducts=setup.conducts, by=by, now=now)
            session().flush()
    here = fitted(order)
    if here is None:
        raise BadInput(f"{insulation.ASKED} The volts of the insulation test depend on it.", "conducts")
    return here.what


def _frozen(step: ProfileStep, setup: Setup, conducts: str, *, replaced: bool) -> TestStep:
    made = TestStep(position=step.position, kind=step.kind, title=step.title, question=step.question,
                    quantity=step.quantity, lower=step.lower, upper=step.upper, condition=step.condition, mark=step.mark,
                    source=step.source, note=step.note, least_level=step.least_level, absent=step.absent)
    if step.rule:
        found = _bond(step.rule, setup)
        made.upper, made.mark = float(found), Mark(found.status)
        made.source, made.note = found.source, found.note
    if conducts and step.kind is StepKind.INSULATION:
        made.least_level = insulation.test_volts(step.least_level, conducts=conducts)
        made.condition = f"{made.least_level:g} V DC, live and neutral joined, the amp’s own switch on; {conducts} conducts at more"
    if replaced and made.quantity and made.mark is Mark.SEEN:
        made.mark = Mark.SUPERSEDED  # the rows of an earlier version's profile do not know it
    return made


def _bond(rule: str, setup: Setup) -> Sourced:
    try:
        return bond_limit(profile=rule, lead_metre=setup.lead_metre or 0.0, mm2=setup.lead_mm2 or 0.0)
    except ElectricsError as wrong:
        field = "lead_mm2" if wrong.argument == "mm2" else "lead_metre"
        raise BadInput(f"The lead’s {'section' if field == 'lead_mm2' else 'length'} must be {wrong.allowed}.", field) from wrong


def _writable(step: TestStep) -> SafetyTest:
    must_be_open_still(step.test.order_id)
    _running(step.test)
    return step.test


def _its_turn(test: SafetyTest, step: TestStep) -> None:
    """Nothing after a failure, and no volts before earth and insulation have passed."""
    if why := why_not_yet(step.kind, [(one.kind, one.title, one.verdict) for one in test.steps if one is not step]):
        raise RuleBroken(why)


def _running(test: SafetyTest) -> None:
    if test.completed_at is not None:
        raise RuleBroken("This test is completed. Begin a new one.")
    if why := queries.why_void(test):
        raise RuleBroken(f"This test is void. {why} Begin a new one.")


def _reason(step: TestStep, reason: str) -> None:
    if step.outcomes and not reason.strip():
        raise BadInput("Enter why it is done again. The earlier entry is kept.", "reason")


def _keep(test: SafetyTest, step: TestStep, outcome: Outcome, before: dict[str, str], *, by: Actor, now: datetime) -> Outcome:
    again = bool(before["verdict"])
    session().add(outcome)
    session().flush()
    session().refresh(step, ["outcomes"])
    record(Event.SAFETY_STEP_CORRECTED if again else Event.SAFETY_STEP_DONE, step, by=by, now=now, order_id=test.order_id,
           before=before if again else {}, after=_said(step), reason=outcome.reason)
    return outcome


def _said(step: TestStep) -> dict[str, str]:
    last = step.outcome
    read = last.reading.words if last and last.reading else last.answer if last else ""
    level = last.level_words if last else ""
    return {"step": step.title, "found": read, "tested": level, "words": last.words if last else "",
            "verdict": step.verdict.word if step.verdict else ""}


def _lead(test: SafetyTest) -> str:
    if test.lead_metre is None or test.lead_mm2 is None:
        return test.lead_words
    return f"{test.lead_metre:g} m of {test.lead_mm2:g} mm²" + (f", {test.lead_words}" if test.lead_words else "")
