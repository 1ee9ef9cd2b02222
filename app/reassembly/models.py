"""Tables of the way back: steps done, counts at closures, handovers of the bench, and the plan as it was last seen."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base


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
    """A count at a closure: what was left in tray and bags by class, what the ledger held open, and whether it closed."""

    __tablename__ = "closure_count"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    step: Mapped[str]
    label: Mapped[str]
    left: Mapped[dict[str, int]] = mapped_column(sa.JSON)
    open: Mapped[dict[str, int]] = mapped_column(sa.JSON)
    ends_counted: Mapped[int | None]
    closed: Mapped[bool]
    faults: Mapped[list[str]] = mapped_column(sa.JSON)
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("ends_counted IS NULL OR ends_counted >= 0", name="ends_not_negative"),)


class BenchHandover(Base):
    """One technician hands an open amp to another, with a count of what lies in bags and trays."""

    __tablename__ = "bench_handover"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    from_name: Mapped[str]
    to_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"))
    to_name: Mapped[str]
    counted: Mapped[dict[str, int]] = mapped_column(sa.JSON)
    open: Mapped[dict[str, int]] = mapped_column(sa.JSON)
    note: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]

    __table_args__ = (sa.CheckConstraint("from_name <> to_name", name="two_people"),)


class PlanSeen(Base):
    """The plan as somebody last worked from it, so that the page can say what has changed since."""

    __tablename__ = "plan_seen"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    steps: Mapped[dict[str, Any]] = mapped_column(sa.JSON)  # id → [label, [ids it waits for]]
    at: Mapped[datetime]
    by_name: Mapped[str]
