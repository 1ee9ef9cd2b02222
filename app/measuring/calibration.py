"""Calibrations of instruments, what each found wrong range by range, and the readings that it put in doubt."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.measuring.models import Instrument, Reading
from app.measuring.rules import Phase, Quantity, State, Verdict
from app.measuring.tolerance import Calibrated, ErrorFound, Settled


class Calibration(Base):
    """One calibration as its certificate says it; the certificate's file by its SHA-256, where there is one. Never changed."""

    __tablename__ = "calibration"

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(sa.ForeignKey("instrument.id"), index=True)
    done_on: Mapped[date]
    laboratory: Mapped[str]
    certificate: Mapped[str] = mapped_column(default="")
    found: Mapped[Calibrated] = mapped_column(words(Calibrated))
    good_on: Mapped[date | None]  # the last day on which it was known good; of one that was out of tolerance
    due_on: Mapped[date | None]
    state: Mapped[State] = mapped_column(words(State))  # what the instrument may be used for afterwards
    note: Mapped[str] = mapped_column(default="")
    sha256: Mapped[str | None] = mapped_column(index=True, info={"stored": True})
    media_type: Mapped[str | None]
    at: Mapped[datetime]
    by_name: Mapped[str]

    instrument: Mapped[Instrument] = relationship()
    errors: Mapped[list[CalibrationError]] = relationship(back_populates="calibration", order_by="CalibrationError.id")
    doubts: Mapped[list[DoubtedReading]] = relationship(back_populates="calibration", order_by="DoubtedReading.id")

    __table_args__ = (
        sa.CheckConstraint("laboratory <> ''", name="says_by_whom"),
        sa.CheckConstraint("(found = 'out of tolerance') = (good_on IS NOT NULL)", name="outside_since"),
        sa.CheckConstraint("good_on IS NULL OR good_on <= done_on", name="good_before"),
        sa.CheckConstraint("due_on IS NULL OR due_on >= done_on", name="due_not_before"),
        sa.CheckConstraint("(sha256 IS NULL) = (media_type IS NULL)", name="file_has_kind"),
        sa.CheckConstraint("sha256 IS NULL OR length(sha256) = 64", name="hashed"),
    )


class CalibrationError(Base):
    """How far it was out on one range: per cent of reading and a fixed part, in the quantity's unit."""

    __tablename__ = "calibration_error"

    id: Mapped[int] = mapped_column(primary_key=True)
    calibration_id: Mapped[int] = mapped_column(sa.ForeignKey("calibration.id"), index=True)
    quantity: Mapped[Quantity] = mapped_column(words(Quantity))
    above: Mapped[float]
    up_to: Mapped[float]
    percent: Mapped[float]
    fixed: Mapped[float]
    at: Mapped[datetime]
    by_name: Mapped[str]

    calibration: Mapped[Calibration] = relationship(back_populates="errors")

    __table_args__ = (
        sa.CheckConstraint("above >= 0 AND above < up_to", name="range_in_order"),
        sa.CheckConstraint("percent >= 0 AND fixed >= 0 AND percent + fixed > 0", name="says_how_far"),
    )

    @property
    def error(self) -> ErrorFound:
        return ErrorFound(self.quantity, self.above, self.up_to, self.percent, self.fixed)


class DoubtedReading(Base):
    """A reading whose verdict would not hold if the instrument was wrong as found; what it comes to at worst, and what settled it.

    A later range of the same calibration that makes it worse makes `worst` worse; a settled one is opened again by that.
    """

    __tablename__ = "doubted_reading"

    id: Mapped[int] = mapped_column(primary_key=True)
    calibration_id: Mapped[int] = mapped_column(sa.ForeignKey("calibration.id"), index=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    reading_id: Mapped[int] = mapped_column(sa.ForeignKey("reading.id"), index=True)
    worst: Mapped[Verdict] = mapped_column(words(Verdict))
    settled: Mapped[Settled | None] = mapped_column(words(Settled))
    settled_words: Mapped[str] = mapped_column(default="")
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str] = mapped_column(default="")
    again_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"))  # the later reading, where it was measured again

    calibration: Mapped[Calibration] = relationship(back_populates="doubts")
    reading: Mapped[Reading] = relationship(foreign_keys=[reading_id])
    again: Mapped[Reading | None] = relationship(foreign_keys=[again_id])

    __table_args__ = (
        sa.UniqueConstraint("calibration_id", "reading_id"),
        sa.CheckConstraint("(settled IS NULL) = (settled_at IS NULL)", name="settled_has_time"),
        sa.CheckConstraint("(settled = 'measured again') = (again_id IS NOT NULL) OR settled IS NULL", name="again_names_reading"),
        sa.CheckConstraint("settled IS NULL OR settled = 'measured again' OR settled_words <> ''", name="settled_in_words"),
    )

    @property
    def is_safety(self) -> bool:
        """Whether it is no point of the order's own list: a step of a safety test or a proof on the way back."""
        return self.reading.point_id is None

    @property
    def holds(self) -> bool:
        """Whether an amp that is still here may not go on with it: what it leaves with rests on it."""
        return self.settled is None and (self.is_safety or self.reading.phase is Phase.AS_LEFT)
