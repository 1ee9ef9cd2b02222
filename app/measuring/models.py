"""Instruments, what they state about themselves, points and readings."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, Versioned, words
from app.measuring.rules import (
    Inputs,
    Kind,
    Phase,
    Quantity,
    Relation,
    Standing,
    State,
    Statement,
    Verdict,
    say,
    say_band,
    say_read,
    say_uncertainty,
    standing,
)


class Instrument(Versioned, Base):
    """One instrument of the bench, under the short name that is written on it."""

    __tablename__ = "instrument"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[Kind] = mapped_column(words(Kind))
    make: Mapped[str] = mapped_column(default="")
    serial: Mapped[str] = mapped_column(default="")
    category: Mapped[str] = mapped_column(default="")  # measurement category and volts, such as CAT III 600 V
    calibrated_on: Mapped[date | None]
    due_on: Mapped[date | None]
    certificate: Mapped[str] = mapped_column(default="")
    state: Mapped[State] = mapped_column(words(State), default=State.IN_SERVICE)
    note: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]

    accuracies: Mapped[list[Accuracy]] = relationship(back_populates="instrument", order_by="Accuracy.id")

    __table_args__ = (
        sa.CheckConstraint("name <> ''", name="has_name"),
        sa.CheckConstraint("due_on IS NULL OR calibrated_on IS NOT NULL", name="due_after_calibration"),
        sa.CheckConstraint("due_on IS NULL OR due_on >= calibrated_on", name="due_not_before_calibration"),
    )

    @property
    def stated(self) -> list[Accuracy]:
        return [one for one in self.accuracies if one.withdrawn_at is None]

    def standing(self, today: date) -> Standing:
        return standing(self.state, self.due_on, today)


class Accuracy(Base):
    """What an instrument states for one quantity up to the end of one range. Withdrawn, never changed."""

    __tablename__ = "accuracy"

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(sa.ForeignKey("instrument.id"), index=True)
    quantity: Mapped[Quantity] = mapped_column(words(Quantity))
    up_to: Mapped[float]  # in the quantity's unit, as is resolution
    percent: Mapped[float]
    counts: Mapped[float]
    resolution: Mapped[float]
    at: Mapped[datetime]
    by_name: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str] = mapped_column(default="")

    instrument: Mapped[Instrument] = relationship(back_populates="accuracies")

    __table_args__ = (
        sa.CheckConstraint("up_to > 0 AND percent >= 0 AND counts >= 0 AND resolution >= 0", name="not_negative"),
        sa.CheckConstraint("counts = 0 OR resolution > 0", name="counts_have_resolution"),
        sa.CheckConstraint("percent > 0 OR counts > 0", name="states_something"),
    )

    @property
    def up_to_words(self) -> str:
        return say(self.up_to, self.quantity.unit)

    @property
    def statement(self) -> Statement:
        return Statement(self.quantity, self.up_to, self.percent, self.counts, self.resolution)


class UsualPoint(Base):
    """A point of the shop's own set, laid out on each order with one press. Withdrawn, never deleted."""

    __tablename__ = "usual_point"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    quantity: Mapped[Quantity] = mapped_column(words(Quantity))
    lower: Mapped[float | None]
    upper: Mapped[float | None]
    basis: Mapped[str] = mapped_column(default="")
    position: Mapped[int]
    withdrawn_at: Mapped[datetime | None]

    __table_args__ = (
        sa.CheckConstraint("name <> ''", name="has_name"),
        sa.CheckConstraint("lower IS NULL OR upper IS NULL OR lower <= upper", name="limits_in_order"),
        sa.Index("uq_usual_point_standing", "name", unique=True, sqlite_where=sa.text("withdrawn_at IS NULL"),
                 postgresql_where=sa.text("withdrawn_at IS NULL")),
    )

    @property
    def band(self) -> str:
        return say_band(self.lower, self.upper, self.quantity.unit)


class Point(Versioned, Base):
    """A place in one amp that is read, with what it should read. Limits in the quantity's unit."""

    __tablename__ = "point"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    name: Mapped[str]
    quantity: Mapped[Quantity] = mapped_column(words(Quantity))
    expected: Mapped[float | None]
    lower: Mapped[float | None]
    upper: Mapped[float | None]
    basis: Mapped[str] = mapped_column(default="")
    node: Mapped[str] = mapped_column(default="", index=True)  # of the amp's own sheet; empty for a point of another kind
    position: Mapped[int]
    at: Mapped[datetime]
    by_name: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("name <> ''", name="has_name"),
        sa.CheckConstraint("lower IS NULL OR upper IS NULL OR lower <= upper", name="limits_in_order"),
        sa.CheckConstraint("(lower IS NULL AND upper IS NULL) OR basis <> ''", name="limits_have_basis"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn_with_reason"),
        sa.Index("uq_point_standing", "order_id", "name", unique=True, sqlite_where=sa.text("withdrawn_at IS NULL"),
                 postgresql_where=sa.text("withdrawn_at IS NULL")),
    )

    @property
    def band(self) -> str:
        return say_band(self.lower, self.upper, self.quantity.unit)

    @property
    def expected_words(self) -> str:
        return say(self.expected, self.quantity.unit)


class Reading(Base):
    """One reading with everything its verdict rests on. A wrong one is corrected by a later one and stays readable."""

    __tablename__ = "reading"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    point_id: Mapped[int | None] = mapped_column(sa.ForeignKey("point.id"), index=True)
    point: Mapped[str]
    phase: Mapped[Phase] = mapped_column(words(Phase))
    condition: Mapped[str] = mapped_column(default="")
    mains_v: Mapped[float | None]
    typed: Mapped[str]
    value: Mapped[float]
    relation: Mapped[Relation] = mapped_column(words(Relation))
    quantity: Mapped[Quantity] = mapped_column(words(Quantity))
    unit: Mapped[str]
    expected: Mapped[float | None]
    lower: Mapped[float | None]
    upper: Mapped[float | None]
    basis: Mapped[str] = mapped_column(default="")
    instrument_id: Mapped[int] = mapped_column(sa.ForeignKey("instrument.id"), index=True)
    instrument_words: Mapped[str]  # name, kind and serial as they were
    accuracy_words: Mapped[str] = mapped_column(default="")
    due_on: Mapped[date | None]  # of the instrument, as it was then
    standing: Mapped[Standing] = mapped_column(words(Standing))
    uncertainty: Mapped[float | None]
    verdict: Mapped[Verdict] = mapped_column(words(Verdict))
    false_accept: Mapped[float | None]
    why: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]
    corrects_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"), unique=True)
    correction_reason: Mapped[str] = mapped_column(default="")
    explanation: Mapped[str] = mapped_column(default="")
    explained_at: Mapped[datetime | None]
    explained_by: Mapped[str] = mapped_column(default="")

    instrument: Mapped[Instrument] = relationship()
    corrects: Mapped[Reading | None] = relationship(remote_side=[id], back_populates="corrected_by")
    corrected_by: Mapped[Reading | None] = relationship(back_populates="corrects", uselist=False)

    __table_args__ = (
        sa.CheckConstraint("unit <> ''", name="has_unit"),
        sa.CheckConstraint("typed <> ''", name="has_typed"),
        sa.CheckConstraint("uncertainty IS NULL OR uncertainty >= 0", name="uncertainty_not_negative"),
        sa.CheckConstraint("lower IS NULL OR upper IS NULL OR lower <= upper", name="limits_in_order"),
        sa.CheckConstraint("verdict = 'not judged' OR (uncertainty IS NOT NULL"
                           " AND (lower IS NOT NULL OR upper IS NOT NULL))", name="judged_by_limits"),
        sa.CheckConstraint("(corrects_id IS NULL) = (correction_reason = '')", name="corrected_with_reason"),
        sa.CheckConstraint("(explained_at IS NULL) = (explanation = '')", name="explained_in_words"),
    )

    @property
    def inputs(self) -> Inputs:
        """What the verdict was computed from."""
        return Inputs(self.value, self.relation, self.lower, self.upper, self.uncertainty)

    @property
    def words(self) -> str:
        return say_read(self.value, self.relation, self.unit)

    @property
    def band(self) -> str:
        return say_band(self.lower, self.upper, self.unit)

    @property
    def passed(self) -> bool:
        """Within its limits, read by an instrument that counted then: what another record may rest on."""
        return self.verdict is Verdict.PASS and self.standing.counts

    @property
    def said(self) -> tuple[str, str]:
        """Sign and word of the verdict; within its limits by an instrument that does not count is never green."""
        if self.verdict is Verdict.PASS and not self.passed:
            return "doubt", f"within, instrument {self.standing.value}"
        return self.verdict.sign, self.verdict.word

    @property
    def uncertainty_words(self) -> str:
        return say_uncertainty(self.uncertainty, self.relation, self.unit)
