"""Board sheets: a board as a table of its positions."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.boards.rules import BoardKind, Fate, PartKind, PartVerdict, Reason, part_verdict
from app.db import Base, Versioned, words
from app.electrics import show


class Board(Versioned, Base):
    """One board of an amp, and the meter that its parts are read with (accuracy ±percent of reading)."""

    __tablename__ = "board"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    name: Mapped[str]
    kind: Mapped[BoardKind] = mapped_column(words(BoardKind))
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    meter: Mapped[str] = mapped_column(default="")
    meter_percent: Mapped[float] = mapped_column(default=1.0)
    at: Mapped[datetime]
    by_name: Mapped[str]

    positions: Mapped[list[BoardPosition]] = relationship(back_populates="board", order_by="BoardPosition.id")

    __table_args__ = (
        sa.UniqueConstraint("order_id", "name"),
        sa.CheckConstraint("name <> ''", name="named"),
        sa.CheckConstraint("meter_percent >= 0 AND meter_percent <= 20", name="accuracy_sensible"),
    )


class BoardPosition(Versioned, Base):
    """One position: what should be there, what it reads, what becomes of it and why. Values in SI units of its kind."""

    __tablename__ = "board_position"

    id: Mapped[int] = mapped_column(primary_key=True)
    board_id: Mapped[int] = mapped_column(sa.ForeignKey("board.id"), index=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    reference: Mapped[str]
    kind: Mapped[PartKind] = mapped_column(words(PartKind))
    nominal: Mapped[float | None]
    tolerance: Mapped[float | None]
    measured_out: Mapped[float | None]
    measured_in: Mapped[float | None]
    fate: Mapped[Fate | None] = mapped_column(words(Fate))
    reason: Mapped[Reason | None] = mapped_column(words(Reason))
    new_part: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    board: Mapped[Board] = relationship(back_populates="positions")

    __table_args__ = (
        sa.UniqueConstraint("board_id", "reference"),
        sa.CheckConstraint("reference <> ''", name="referenced"),
        sa.CheckConstraint("nominal IS NULL OR nominal >= 0", name="nominal_not_negative"),
        sa.CheckConstraint("tolerance IS NULL OR (tolerance > 0 AND tolerance < 1)", name="tolerance_fraction"),
        sa.CheckConstraint("COALESCE(measured_out, 0) >= 0 AND COALESCE(measured_in, 0) >= 0", name="read_not_negative"),
        sa.CheckConstraint("(fate IS NULL) = (reason IS NULL)", name="fate_has_reason"),
    )

    @property
    def verdict(self) -> PartVerdict:
        """What its reading says, with the board's meter counted."""
        return part_verdict(self.kind, nominal=self.nominal, tolerance=self.tolerance, out_of_circuit=self.measured_out,
                            in_circuit=self.measured_in, percent=self.board.meter_percent)

    def said(self, value: float | None) -> str:
        """A value of this part in bench notation."""
        return "" if value is None else show(value, unit=self.kind.unit)
