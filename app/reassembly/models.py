"""Tables of the way back: steps done, counts at closures, handovers of the bench, and the plan as it was last seen."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base
from app.hardware.models import HardwareClass


class StepRecord(Base):
    """One step done. Undone with a reason it stays readable, and the step can be done again."""

    __tablename__ = "step_record"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    step: Mapped[str]
    label: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    forced_reason: Mapped[str] = mapped_column(default="")
    lacked: Mapped[str] = mapped_column(default="")  # what it came too early for, when forced
    reading_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"))
    dries_until: Mapped[datetime | None]
    done_at: Mapped[datetime]
    done_by: Mapped[str]
    undone_at: Mapped[datetime | None]
    undone_by: Mapped[str | None]
    undone_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("step <> ''", name="has_step"),
        sa.CheckConstraint("(undone_at IS NULL) = (undone_reason = '')", name="undone_with_reason"),
        sa.CheckConstraint("(lacked = '') = (forced_reason = '')", name="forced_with_reason"),
        sa.Index("uq_step_record_standing", "order_id", "step", unique=True, sqlite_where=sa.text("undone_at IS NULL"),
                 postgresql_where=sa.text("undone_at IS NULL")),
    )


class ClosureCount(Base):
    """A count at a closure: `left` in tray and bags by class, what the ledger held `open` of it, and whether it closed."""

    __tablename__ = "closure_count"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    step: Mapped[str]
    label: Mapped[str]
    ends_counted: Mapped[int | None]
    closed: Mapped[bool]
    faults: Mapped[list[str]] = mapped_column(sa.JSON)
    at: Mapped[datetime]
    by_name: Mapped[str]

    pieces: Mapped[list[CountedAtClosure]] = relationship(lazy="selectin", order_by="CountedAtClosure.id")

    __table_args__ = (sa.CheckConstraint("ends_counted IS NULL OR ends_counted >= 0", name="ends_not_negative"),)

    @property
    def left(self) -> dict[str, int]:
        return {piece.hardware.label: piece.left for piece in self.pieces if piece.left}

    @property
    def open(self) -> dict[str, int]:
        return {piece.hardware.label: piece.open for piece in self.pieces if piece.open is not None}


class CountedAtClosure(Base):
    """One class in a count at a closure; `open` None where the ledger knew no such piece."""

    __tablename__ = "closure_count_piece"

    id: Mapped[int] = mapped_column(primary_key=True)
    closure_count_id: Mapped[int] = mapped_column(sa.ForeignKey("closure_count.id"))
    hardware_class_id: Mapped[int] = mapped_column(sa.ForeignKey("hardware_class.id"), index=True)
    left: Mapped[int] = mapped_column(default=0)
    open: Mapped[int | None]

    hardware: Mapped[HardwareClass] = relationship(lazy="joined", innerjoin=True)

    __table_args__ = (
        sa.UniqueConstraint("closure_count_id", "hardware_class_id"),
        sa.CheckConstraint("\"left\" >= 0", name="left_not_negative"),
    )


class BenchHandover(Base):
    """One technician hands an open amp to another. Each counts what lies in bags and trays, the second without the first's."""

    __tablename__ = "bench_handover"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    from_name: Mapped[str]
    to_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"))
    to_name: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    second_at: Mapped[datetime | None]
    second_proof: Mapped[str] = mapped_column(default="")  # PIN or password; empty where one count was enough, before 0.2.0
    second_note: Mapped[str] = mapped_column(default="")
    dropped_at: Mapped[datetime | None]
    dropped_by: Mapped[str] = mapped_column(default="")

    pieces: Mapped[list[CountedAtHandover]] = relationship(lazy="selectin", order_by="CountedAtHandover.id")

    __table_args__ = (sa.CheckConstraint("from_name <> to_name", name="two_people"),)

    @property
    def counted(self) -> dict[str, int]:
        return {piece.hardware.label: piece.counted for piece in self.pieces if piece.counted}

    @property
    def open(self) -> dict[str, int]:
        return {piece.hardware.label: piece.open for piece in self.pieces if piece.open}

    @property
    def second(self) -> dict[str, int]:
        return {one.hardware.label: one.second for one in self.pieces if one.second}

    @property
    def waits(self) -> bool:
        """Whether the second person has still to count."""
        return self.second_at is None and self.dropped_at is None


class CountedAtHandover(Base):
    """One class in the count of a handover, and what the ledger held open of it."""

    __tablename__ = "bench_handover_piece"

    id: Mapped[int] = mapped_column(primary_key=True)
    bench_handover_id: Mapped[int] = mapped_column(sa.ForeignKey("bench_handover.id"))
    hardware_class_id: Mapped[int] = mapped_column(sa.ForeignKey("hardware_class.id"), index=True)
    counted: Mapped[int] = mapped_column(default=0)
    open: Mapped[int] = mapped_column(default=0)
    second: Mapped[int | None]

    hardware: Mapped[HardwareClass] = relationship(lazy="joined", innerjoin=True)

    __table_args__ = (
        sa.UniqueConstraint("bench_handover_id", "hardware_class_id"),
        sa.CheckConstraint("counted >= 0", name="counted_not_negative"),
        sa.CheckConstraint("second IS NULL OR second >= 0", name="second_not_negative"),
    )


class MainsFitting(Base):
    """Whether a part that conducts at 500 V lies between the mains and the metal, as somebody answered; the last answer counts."""

    __tablename__ = "mains_fitting"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    conducts: Mapped[bool]
    words: Mapped[str] = mapped_column(default="")  # which, where somebody said so
    at: Mapped[datetime]
    by_name: Mapped[str]


class PlanSeen(Base):
    """The plan as somebody last worked from it, so that the page can say what has changed since."""

    __tablename__ = "plan_seen"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    steps: Mapped[dict[str, Any]] = mapped_column(sa.JSON)  # id → [label, [ids it waits for]]
    at: Mapped[datetime]
    by_name: Mapped[str]
