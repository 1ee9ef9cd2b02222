"""Reading profiles, tests and soak runs back; whether the last test counts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from app.db import session
from app.measuring.models import Instrument, Reading
from app.measuring.rules import State, Verdict
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.request_cache import cached_until_write
from app.safety.models.profiles import Profile, ProfileStep
from app.safety.models.testing import Outcome, ProofReading, SafetyTest, SoakRun, TestStep
from app.safety.rules import Result, StepKind


def profiles() -> Sequence[Profile]:
    """All profiles, the one in force first."""
    return session().scalars(sa.select(Profile).order_by(Profile.in_force.desc(), Profile.revision.desc(), Profile.id)).all()


def find_profile(profile_id: int) -> Profile | None:
    """The profile with this id."""
    return session().get(Profile, profile_id)


def find_profile_step(step_id: int) -> ProfileStep | None:
    """The step of a profile with this id."""
    return session().get(ProfileStep, step_id)


def profile_in_force() -> Profile | None:
    """The profile that tests are started under; None until the owner has chosen."""
    return session().scalar(sa.select(Profile).where(Profile.in_force))


def find_test(test_id: int) -> SafetyTest | None:
    """The test with this id."""
    return session().get(SafetyTest, test_id)


def find_step(step_id: int) -> TestStep | None:
    """The step of a test with this id."""
    return session().get(TestStep, step_id)


@cached_until_write
def tests_of(order: RepairOrder) -> Sequence[SafetyTest]:
    """Every test of an order, newest first."""
    return session().scalars(sa.select(SafetyTest).where(SafetyTest.order_id == order.id)
                             .order_by(SafetyTest.number.desc())).all()


def running_test(order: RepairOrder) -> SafetyTest | None:
    """The test that was started and is not completed."""
    return next((test for test in tests_of(order) if test.is_running), None)


def last_completed(order: RepairOrder) -> SafetyTest | None:
    """The test that decides: the last one completed, voided or not."""
    return next((test for test in tests_of(order) if test.completed_at is not None), None)


def left_the_test_at(order: RepairOrder) -> datetime | None:
    """When the order last went back from the safety test or the return to work before it; None if it never did."""
    here = IN_ORDER.index(Stage.SAFETY_TEST)
    back = [one.at for one in order.moves if IN_ORDER.index(one.from_stage) >= here > IN_ORDER.index(one.to_stage)]
    return max(back, default=None)


def why_void(test: SafetyTest) -> str:
    """Why a test no longer counts: voided by somebody, or the chassis was opened after it began. Empty if it stands.

    Every act that opens it says so in `orders.chassis`; a test walks them all.
    """
    if test.voided_at is not None:
        return test.void_reason
    if opened := chassis.opened_after(test.order_id, test.last_opening_id):
        return f"After it began, {opened}."
    order = session().get_one(RepairOrder, test.order_id)
    if not order.is_open:
        return ""
    marked = order.amp.protection_class.value
    if marked != test.protection:
        return f"It was done as for class {test.protection}, and the amp’s sheet says class {marked} now."
    doubted = _doubted(test.id)
    return f"{doubted[0]}, which it was done with, is quarantined." if doubted else ""


@cached_until_write
def _doubted(test_id: int) -> Sequence[str]:
    """The names of quarantined instruments that a test was done with: of each step, the outcome that counts is the last."""
    later = aliased(Outcome)
    counts = ~sa.exists().where(later.step_id == Outcome.step_id, later.id > Outcome.id)
    return session().scalars(
        sa.select(Instrument.name).distinct().join(Reading, Reading.instrument_id == Instrument.id)
        .join(Outcome, Outcome.reading_id == Reading.id).join(TestStep, TestStep.id == Outcome.step_id)
        .where(TestStep.test_id == test_id, counts, Instrument.state == State.QUARANTINED).order_by(Instrument.name)).all()


def last_test_passed(order: RepairOrder) -> bool:
    """Whether the last completed test passed and still stands. Without it nobody may release the amp as repaired."""
    test = last_completed(order)
    return test is not None and test.result is Result.PASS and not why_void(test)


def standing_test(order: RepairOrder) -> SafetyTest | None:
    """The newest test that has not been voided and whose amp was not opened since it began, completed or not."""
    newest = next(iter(tests_of(order)), None)
    return newest if newest is not None and not why_void(newest) else None


def why_not_proven(order: RepairOrder) -> str:
    """Why mains may not be left on it: no test since it was opened, or earth and insulation have not both passed; else empty."""
    test = standing_test(order)
    if test is None:
        return "Measure its protective earth and insulation in a safety test first." if order.amp.protection_class.value == "I" \
            else "Measure its insulation in a safety test first."
    if failed := next((step.title for step in test.steps if step.verdict is Verdict.FAIL), ""):
        return f"Safety test {test.number} failed at “{failed}”. Repair the amp and test it again first."
    waits = [step.title for step in test.steps if step.kind in (StepKind.BOND, StepKind.INSULATION)
             and step.verdict is not Verdict.PASS]
    return f"{waits[0]} has not passed in safety test {test.number} yet." if waits else ""


def minutes_to_carry(order: RepairOrder) -> int:
    """What the last soak run had run when it was interrupted, as long as the amp was not opened since it began."""
    last = next((run for run in soaks_of(order) if run.ended_at is not None), None)
    if last is None or last.came is None or not last.interrupted or last.symptom_shown:
        return 0
    return 0 if chassis.opened_after(order.id, last.last_opening_id) else last.came.minutes


@cached_until_write
def soaks_of(order: RepairOrder) -> Sequence[SoakRun]:
    """Every soak run, newest first."""
    return session().scalars(sa.select(SoakRun).where(SoakRun.order_id == order.id).order_by(SoakRun.id.desc())).all()


def find_soak(soak_id: int) -> SoakRun | None:
    """The soak run with this id."""
    return session().get(SoakRun, soak_id)


def running_soak(order: RepairOrder) -> SoakRun | None:
    """The soak run that has not ended."""
    return next((run for run in soaks_of(order) if run.ended_at is None), None)


def why_no_soak(order: RepairOrder) -> str:
    """Why the last ended soak run does not count, or that there was none; empty if it does."""
    last = next((run for run in soaks_of(order) if run.ended_at is not None), None)
    if last is None or last.came is None:
        return "No soak run is recorded yet."
    if opened := chassis.opened_after(order.id, last.last_opening_id):
        return f"After the last soak run began, {opened}."
    return last.came.why_not


def proof_readings(finding_ids: Sequence[int]) -> dict[int, ProofReading]:
    """The reading that each of these findings' proofs rests on, where one was named."""
    found = session().scalars(sa.select(ProofReading).where(ProofReading.finding_id.in_(finding_ids))
                              .order_by(ProofReading.id))
    return {one.finding_id: one for one in found}
