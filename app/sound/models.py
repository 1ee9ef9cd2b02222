"""Recordings of an order and the figures read from each. A recording is struck out with a reason, never removed."""

from __future__ import annotations

import json
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.measuring.rules import Phase
from app.sound.rules import Curve, Figure, SoundKind

MEDIA = "audio/wav"


class Recording(Base):
    """One recording: the file byte for byte by its SHA-256, how it was made, what its level rests on, and its curve as JSON.

    `volts_full` is the voltage at the load that full scale stands for (peak); without it every level is relative.
    """

    __tablename__ = "recording"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    phase: Mapped[Phase] = mapped_column(words(Phase))
    kind: Mapped[SoundKind] = mapped_column(words(SoundKind))
    condition: Mapped[str] = mapped_column(default="")
    sha256: Mapped[str] = mapped_column(index=True, info={"stored": True})
    rate: Mapped[int]
    bits: Mapped[int]
    channels: Mapped[int]
    channel: Mapped[int]
    seconds: Mapped[float]
    volts_full: Mapped[float | None]
    level_basis: Mapped[str] = mapped_column(default="")
    load_ohm: Mapped[float | None]
    tone_hz: Mapped[float | None]
    curve_json: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str] = mapped_column(default="")
    struck_reason: Mapped[str] = mapped_column(default="")

    figures: Mapped[list[SoundFigure]] = relationship(back_populates="recording", order_by="SoundFigure.position", lazy="selectin")

    __table_args__ = (
        sa.CheckConstraint("length(sha256) = 64", name="hashed"),
        sa.CheckConstraint("rate > 0 AND seconds > 0 AND channel >= 1 AND channel <= channels", name="sensible"),
        sa.CheckConstraint("(volts_full IS NULL) = (level_basis = '')", name="level_has_basis"),
        sa.CheckConstraint("COALESCE(volts_full, 1) > 0 AND COALESCE(load_ohm, 1) > 0", name="above_zero"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '')", name="struck_with_reason"),
    )

    @property
    def curve(self) -> Curve:
        return tuple((across, up) for across, up in json.loads(self.curve_json))

    @property
    def words(self) -> str:
        """What it is, in one line."""
        return f"{self.kind.words}, {self.phase.value}"


class SoundFigure(Base):
    """One figure of a recording; `unit` is V, W, %, Hz, or dB with what it is against."""

    __tablename__ = "sound_figure"

    id: Mapped[int] = mapped_column(primary_key=True)
    recording_id: Mapped[int] = mapped_column(sa.ForeignKey("recording.id"), index=True)
    position: Mapped[int]
    name: Mapped[str]
    value: Mapped[float]
    unit: Mapped[str]

    recording: Mapped[Recording] = relationship(back_populates="figures")

    __table_args__ = (sa.CheckConstraint("name <> '' AND unit <> ''", name="named"),)

    @property
    def figure(self) -> Figure:
        return Figure(self.name, self.value, self.unit)
