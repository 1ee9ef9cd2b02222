"""Tests with what was seen and measured, soak runs."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.measuring.rules import Quantity, Verdict, say
from app.safety.models.profiles import StepColumns
from app.safety.rules import Mark, Result, Soaked, StepKind

if TYPE_CHECKING:
    from app.measuring.models import Reading


class SafetyTest(Base):
    """One safety test under one profile, its limits frozen at the start. The result is computed, never typed."""

    __tablename__ = "safety_test"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    number: Mapped[int]
    profile_id: Mapped[int] = mapped_column(sa.ForeignKey("safety_profile.id"))
    profile_name: Mapped[str]
    edition: Mapped[str]
    edition_date: Mapped[date | None]
    confirmed_by: Mapped[str]  # the owner who confirmed the profile; empty while nobody had
    unconfirmed: Mapped[bool]  # a limit rests on memory alone: this test can pass nothing
    protection: Mapped[str]  # class I or II
    lead_metre: Mapped[float | None]
    lead_mm2: Mapped[float | None]
    lead_words: Mapped[str] = mapped_column(default="")
    conditions: Mapped[str] = mapped_column(default="")
    mains_v: Mapped[float | None]
    conducts: Mapped[str] = mapped_column(default="")  # what lies between mains and metal that conducts at 500 V; "" is nothing
    started_at: Mapped[datetime]
    started_by: Mapped[str]
    # The newest opening of the chassis before it began; a later one voids it.
    last_opening_id: Mapped[int | None] = mapped_column(sa.ForeignKey("chassis_opening.id"))
    completed_at: Mapped[datetime | None]
    completed_by: Mapped[str] = mapped_column(default="")
    licence: Mapped[str] = mapped_column(default="")
    result: Mapped[Result | None] = mapped_column(words(Result))
    reasons: Mapped[str] = mapped_column(default="")  # one a line
    tag: Mapped[str] = mapped_column(default="")
    voided_at: Mapped[datetime | None]
    voided_by: Mapped[str] = mapped_column(default="")
    void_reason: Mapped[str] = mapped_column(default="")

    steps: Mapped[list[TestStep]] = relationship(back_populates="test", order_by="TestStep.position")

    __table_args__ = (
        sa.UniqueConstraint("order_id", "number"),
        sa.CheckConstraint("protection IN ('I', 'II')", name="class_known"),
        sa.CheckConstraint("(completed_at IS NULL) = (result IS NULL)", name="completed_with_result"),
        sa.CheckConstraint("(voided_at IS NULL) = (void_reason = '')", name="voided_with_reason"),
        sa.CheckConstraint("result <> 'pass' OR NOT unconfirmed", name="unconfirmed_passes_nothing"),
        sa.CheckConstraint("protection <> 'I' OR (lead_metre IS NOT NULL AND lead_mm2 IS NOT NULL)", name="lead_measured"),
        sa.Index("uq_safety_test_one_running", "order_id", unique=True,
                 sqlite_where=sa.text("completed_at IS NULL AND voided_at IS NULL"),
                 postgresql_where=sa.text("completed_at IS NULL AND voided_at IS NULL")),
    )

    @property
    def title(self) -> str:
        return f"{self.profile_name}, edition {self.edition}" if self.edition else self.profile_name

    @property
    def is_running(self) -> bool:
        return self.completed_at is None and self.voided_at is None


class TestStep(StepColumns, Base):
    """A step as it was when the test began, and what was seen or measured at it."""

    __tablename__ = "safety_step"
    __test__ = False  # no test class, whatever its name begins with

    id: Mapped[int] = mapped_column(primary_key=True)
    test_id: Mapped[int] = mapped_column(sa.ForeignKey("safety_test.id"), index=True)
    kind: Mapped[StepKind] = mapped_column(words(StepKind))
    quantity: Mapped[Quantity | None] = mapped_column(words(Quantity))
    mark: Mapped[Mark] = mapped_column(words(Mark))

    test: Mapped[SafetyTest] = relationship(back_populates="steps")
    outcomes: Mapped[list[Outcome]] = relationship(back_populates="step", order_by="Outcome.id", lazy="selectin")

    @property
    def outcome(self) -> Outcome | None:
        """What counts: the last one."""
        return self.outcomes[-1] if self.outcomes else None

    @property
    def verdict(self) -> Verdict | None:
        """From the reading, or from the yes or no; None while it is not done."""
        return self.outcome.verdict if self.outcome else None

    @property
    def order_id(self) -> int:
        return self.test.order_id


def say_level(level: float | None, *, earth: bool) -> str:
    """'with 200 mA', 'at 500 V'; nothing where a step has no level."""
    return "" if level is None else f"with {say(level, 'A')}" if earth else f"at {say(level, 'V')}"


class Outcome(Base):
    """What was seen (yes or no, in words) or the reading taken. A later one stands in its place, with a reason."""

    __tablename__ = "step_outcome"

    id: Mapped[int] = mapped_column(primary_key=True)
    step_id: Mapped[int] = mapped_column(sa.ForeignKey("safety_step.id"), index=True)
    reading_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"), unique=True)
    seen: Mapped[bool | None]
    words: Mapped[str] = mapped_column(default="")
    level: Mapped[float | None]  # what the tester worked with: A through an earth, V on an insulation
    reason: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    step: Mapped[TestStep] = relationship(back_populates="outcomes")
    reading: Mapped[Reading | None] = relationship("Reading", lazy="selectin")

    __table_args__ = (
        sa.CheckConstraint("(reading_id IS NULL) = (seen IS NOT NULL)", name="seen_or_read"),
        sa.CheckConstraint("seen IS NULL OR seen OR words <> ''", name="a_no_has_words"),
    )

    @property
    def level_words(self) -> str:
        """'with 200 mA', 'at 500 V'; nothing where a step has no level."""
        return say_level(self.level, earth=self.step.kind is StepKind.BOND)

    @property
    def answer(self) -> str:
        """Yes or no to what was looked at; of a step that is measured, that there is nothing to measure."""
        if self.seen is None:
            return ""
        return ("none there" if self.step.quantity else "yes") if self.seen else "no"

    @property
    def verdict(self) -> Verdict:
        if self.reading is not None:
            return self.reading.verdict
        return Verdict.PASS if self.seen else Verdict.FAIL


class SoakRun(Base):
    """The amp left working and watched. It counts if it ran long enough and the symptom stayed away."""

    __tablename__ = "soak_run"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    needed_minutes: Mapped[int]
    load: Mapped[str]
    mains_v: Mapped[float | None]
    attended: Mapped[bool]
    started_at: Mapped[datetime]
    started_by: Mapped[str]
    last_opening_id: Mapped[int | None] = mapped_column(sa.ForeignKey("chassis_opening.id"))
    ended_at: Mapped[datetime | None]
    ended_by: Mapped[str] = mapped_column(default="")
    carried_minutes: Mapped[int] = mapped_column(default=0)  # of runs before it that were interrupted
    interrupted: Mapped[str] = mapped_column(default="")  # why it ended before its time
    symptom_shown: Mapped[bool | None]
    observations: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("needed_minutes > 0", name="minutes_needed"),
        sa.CheckConstraint("ended_at IS NULL OR ended_at >= started_at", name="ends_after_start"),
        sa.CheckConstraint("(ended_at IS NULL) = (symptom_shown IS NULL)", name="ended_with_symptom_said"),
        sa.CheckConstraint("ended_at IS NULL OR observations <> ''", name="ended_with_words"),
        sa.Index("uq_soak_run_one_running", "order_id", unique=True, sqlite_where=sa.text("ended_at IS NULL"),
                 postgresql_where=sa.text("ended_at IS NULL")),
    )

    @property
    def came(self) -> Soaked | None:
        """What it came to, once it has ended."""
        if self.ended_at is None or self.symptom_shown is None:
            return None
        return Soaked(self.started_at, self.ended_at, self.needed_minutes, self.symptom_shown, self.carried_minutes)

    @property
    def ends_at(self) -> datetime:
        """When it will have run for long enough."""
        return self.started_at + timedelta(minutes=max(0, self.needed_minutes - self.carried_minutes))


class ProofReading(Base):
    """The reading that a finding's proof rests on."""

    __tablename__ = "proof_reading"

    id: Mapped[int] = mapped_column(primary_key=True)
    finding_id: Mapped[int] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    reading_id: Mapped[int] = mapped_column(sa.ForeignKey("reading.id"), index=True)
    at: Mapped[datetime]
    by_name: Mapped[str]

    reading: Mapped[Reading] = relationship("Reading")
