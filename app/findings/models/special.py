"""What a finding may carry besides its words: the wires it covers, a board's leakage, its bake-out."""

from __future__ import annotations

import enum
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.electrics import ElectricsError, board_leakage, show
from app.findings.models.findings import Finding
from app.findings.rules.wires import Wire


class FindingWire(Base):
    """One wire of a group that a finding covers."""

    __tablename__ = "finding_wire"

    id: Mapped[int] = mapped_column(primary_key=True)
    finding_id: Mapped[int] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    colour: Mapped[str]
    run: Mapped[str]
    from_end: Mapped[str]
    to_end: Mapped[str]
    weeps: Mapped[bool]
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]

    __table_args__ = (sa.CheckConstraint("colour <> '' AND run <> '' AND from_end <> '' AND to_end <> ''", name="whole"),)

    @property
    def wire(self) -> Wire:
        return Wire(self.id, self.colour, self.run, frozenset({self.from_end.lower(), self.to_end.lower()}), self.weeps)


class Round(enum.StrEnum):
    """Before the board was dried, or after."""

    BEFORE = "before"
    AFTER = "after"


class LeakageReading(Base):
    """Stray volts on a bare eyelet with a source on its neighbour, through a meter of known resistance."""

    __tablename__ = "leakage_reading"

    id: Mapped[int] = mapped_column(primary_key=True)
    finding_id: Mapped[int] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    round: Mapped[Round] = mapped_column(words(Round))
    between: Mapped[str]
    source_v: Mapped[float]
    meter_v: Mapped[float]
    meter_ohm: Mapped[float]
    instrument: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_reason: Mapped[str | None]

    __table_args__ = (
        sa.CheckConstraint("source_v > 0 AND meter_v >= 0 AND meter_v <= source_v AND meter_ohm > 0", name="sound"),
        sa.CheckConstraint("instrument <> '' AND \"between\" <> ''", name="says_with_what"),
    )

    @property
    def ohm(self) -> float | None:
        """Leakage resistance in ohm; None when it is beyond what the meter resolves."""
        try:
            return board_leakage(source_v=self.source_v, meter_v=self.meter_v, meter_ohm=self.meter_ohm)
        except ElectricsError:
            return None

    @property
    def words(self) -> str:
        """What strayed, of what."""
        return f"{show(self.meter_v, unit='V')} of {show(self.source_v, unit='V')}"

    @property
    def path_words(self) -> str:
        """The leakage path."""
        return "more than the meter tells" if self.ohm is None else show(self.ohm, unit="ohm")

    @property
    def current_words(self) -> str:
        return show(self.ampere, unit="A")

    @property
    def ampere(self) -> float:
        """Current that the meter drew through the board, in A."""
        return self.meter_v / self.meter_ohm


class BakeOut(Base):
    """A board drying in warmth: an unattended step with its time and temperature."""

    __tablename__ = "bake_out"

    id: Mapped[int] = mapped_column(primary_key=True)
    finding_id: Mapped[int] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    hours: Mapped[float]
    celsius: Mapped[float]
    started_at: Mapped[datetime]
    started_by: Mapped[str]
    ended_at: Mapped[datetime | None]
    ended_by: Mapped[str | None]
    ended_note: Mapped[str] = mapped_column(default="")

    finding: Mapped[Finding] = relationship()

    __table_args__ = (
        sa.CheckConstraint("hours > 0 AND hours <= 96", name="hours_sensible"),
        sa.CheckConstraint("celsius >= 30 AND celsius <= 105", name="warm_not_hot"),
    )

    @property
    def due_at(self) -> datetime:
        return self.started_at + timedelta(hours=self.hours)
