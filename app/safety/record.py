"""The safety record of an order, for paper: everything that was tested, by whom, with what, against which limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.measuring.models import Reading
from app.measuring.rules import Relation, Verdict, say_band, say_read, say_uncertainty
from app.orders.models import RepairOrder
from app.safety import queries
from app.safety.models.testing import SafetyTest, SoakRun, TestStep, say_level
from app.safety.rules import Result, StepKind

WORDING = "It passed these tests on this date. The record says nothing beyond them and is void once the chassis is opened."


@dataclass(frozen=True)
class RecordedStep:
    """One step: what was asked, under which limit from which source, what was found, with what, by whom.

    Limits, value and uncertainty in `unit`; `seen` is the yes or no of a step that is looked at.
    """

    kind: str
    title: str
    question: str
    condition: str  # test current, volts applied, method: as it was done
    unit: str
    lower: float | None
    upper: float | None
    limit_source: str
    limit_mark: str
    value: float | None
    relation: Relation
    uncertainty: float | None
    level: float | None  # what the tester worked with: A through an earth, V on an insulation
    seen: bool | None
    words: str
    verdict: Verdict | None
    instrument: str
    calibration_due: date | None
    by: str
    at: datetime | None
    done_again_because: str

    @property
    def limit(self) -> str:
        return say_band(self.lower, self.upper, self.unit)

    @property
    def found(self) -> str:
        """The reading, or yes or no; empty for a step that was not done."""
        if self.value is not None:
            return say_read(self.value, self.relation, self.unit)
        if self.seen is None:
            return ""
        return ("none there" if self.unit else "yes") if self.seen else "no"

    @property
    def level_words(self) -> str:
        return say_level(self.level, earth=self.kind == StepKind.BOND.value)

    @property
    def uncertainty_words(self) -> str:
        return say_uncertainty(self.uncertainty, self.relation, self.unit)


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

    @property
    def wording(self) -> str:
        return WORDING


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
    unit = step.quantity.unit if step.quantity else reading.unit if reading else ""
    return RecordedStep(
        kind=step.kind.value, title=step.title, question=step.question,
        condition=reading.condition if reading else step.condition, unit=unit, lower=step.lower, upper=step.upper,
        limit_source=step.source, limit_mark=step.mark.word if step.quantity else "",
        value=reading.value if reading else None, relation=reading.relation if reading else Relation.IS,
        uncertainty=reading.uncertainty if reading else None, level=last.level if last else None, seen=last.seen if last else None,
        words=last.words if last else "", verdict=step.verdict, instrument=reading.instrument_words if reading else "",
        calibration_due=reading.due_on if reading else None, by=last.by_name if last else "", at=last.at if last else None,
        done_again_because=last.reason if last else "")


def _soak(order: RepairOrder) -> RecordedSoak | None:
    run: SoakRun | None = next((one for one in queries.soaks_of(order) if one.ended_at is not None), None)
    if run is None or run.came is None or run.ended_at is None:
        return None
    return RecordedSoak(run.started_at, run.ended_at, run.came.minutes, run.needed_minutes, run.load, run.mains_v,
                        run.attended, run.came.symptom_shown, run.observations, run.ended_by, run.came.why_not)
