"""The safety record of an order, for paper: everything that was tested, by whom, with what, against which limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.measuring.models import Reading
from app.measuring.rules import Verdict
from app.orders.models import RepairOrder
from app.safety import queries
from app.safety.models import SafetyTest, SoakRun, TestStep
from app.safety.rules import Result

WORDING = "It passed these tests on this date. The record says nothing beyond them and is void once the chassis is opened."


@dataclass(frozen=True)
class RecordedStep:
    """One step: what was asked, under which limit from which source, what was found, with what, by whom."""

    kind: str
    title: str
    question: str
    condition: str  # test current, volts applied, method: as it was done
    limit: str
    limit_source: str
    limit_mark: str
    found: str  # the reading, or yes or no
    words: str
    uncertainty: str
    verdict: Verdict | None
    instrument: str
    calibration_due: date | None
    by: str
    at: datetime | None
    done_again_because: str


@dataclass(frozen=True)
class RecordedSoak:
    """The last soak run that ended."""

    started_at: datetime
    ended_at: datetime
    minutes: int
    needed_minutes: int
    load: str
    mains_v: float | None
    attended: bool
    symptom_shown: bool
    observations: str
    by: str
    why_not: str


@dataclass(frozen=True)
class SafetyRecord:
    """The last completed test with its soak run. `passed` is False for a test that was voided since."""

    test_id: int
    number: int
    profile: str
    edition: str
    edition_date: date | None
    confirmed_by: str
    protection: str
    lead_metre: float | None
    lead_mm2: float | None
    lead_words: str
    conditions: str
    mains_v: float | None
    started_at: datetime
    completed_at: datetime
    completed_by: str
    licence: str
    tag: str
    steps: tuple[RecordedStep, ...]
    result: Result
    reasons: tuple[str, ...]
    void: str
    passed: bool
    soak: RecordedSoak | None
    wording: str = WORDING


def safety_record(order: RepairOrder) -> SafetyRecord | None:
    """What is printed of the last completed test; None while there is none."""
    test = queries.last_completed(order)
    return record_of(test, order) if test else None


def record_of(test: SafetyTest, order: RepairOrder) -> SafetyRecord:
    """The record of one completed test. ValueError for one that is not."""
    if test.completed_at is None or test.result is None:
        raise ValueError("the test is not completed")
    void = queries.why_void(test)
    return SafetyRecord(
        test_id=test.id, number=test.number, profile=test.profile_name, edition=test.edition,
        edition_date=test.edition_date, confirmed_by=test.confirmed_by, protection=test.protection,
        lead_metre=test.lead_metre, lead_mm2=test.lead_mm2, lead_words=test.lead_words, conditions=test.conditions,
        mains_v=test.mains_v, started_at=test.started_at, completed_at=test.completed_at, completed_by=test.completed_by,
        licence=test.licence, tag=test.tag, steps=tuple(_step(step) for step in test.steps), result=test.result,
        reasons=tuple(test.reasons.splitlines()), void=void, passed=test.result is Result.PASS and not void,
        soak=_soak(order))


def _step(step: TestStep) -> RecordedStep:
    last = step.outcome
    reading: Reading | None = last.reading if last else None
    found = reading.words if reading else "" if last is None else "yes" if last.seen else "no"
    return RecordedStep(
        kind=step.kind.value, title=step.title, question=step.question,
        condition=reading.condition if reading else step.condition, limit=step.limit, limit_source=step.source,
        limit_mark=step.mark.word if step.quantity else "", found=found, words=last.words if last else "",
        uncertainty=reading.uncertainty_words if reading else "", verdict=step.verdict,
        instrument=reading.instrument_words if reading else "", calibration_due=reading.due_on if reading else None,
        by=last.by_name if last else "", at=last.at if last else None,
        done_again_because=last.reason if last else "")


def _soak(order: RepairOrder) -> RecordedSoak | None:
    run: SoakRun | None = next((one for one in queries.soaks_of(order) if one.ended_at is not None), None)
    if run is None or run.came is None or run.ended_at is None:
        return None
    return RecordedSoak(run.started_at, run.ended_at, run.came.minutes, run.needed_minutes, run.load, run.mains_v,
                        run.attended, run.came.symptom_shown, run.observations, run.ended_by, run.came.why_not)
