"""Kinds of work, tasks, who worked on them from when to when, calls about the hours, and what is worked out from them."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, foreign, mapped_column, relationship

from app.access.models import Person
from app.db import Base, Versioned, words
from app.hours.rules.words import Called, Role
from app.orders.models import RepairOrder
from app.records.models import Amp


class WorkKind(Versioned, Base):
    """One kind of work of the shop's list; `areas` are those of findings that propose it. One no longer used stays readable."""

    __tablename__ = "work_kind"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    areas: Mapped[list[Any]] = mapped_column(sa.JSON)
    retired_at: Mapped[datetime | None]

    __table_args__ = (sa.CheckConstraint("name <> ''", name="has_name"),)


class Task(Versioned, Base):
    """A piece of work on one order. Its first act makes its row; hours of an agreed item stand on the quote until it is finished.

    `log_ratio`: logarithm of the hours it took over those it was estimated at, once it is finished and has both.
    """

    __tablename__ = "task"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    role: Mapped[Role] = mapped_column(words(Role))
    kind_id: Mapped[int] = mapped_column(sa.ForeignKey("work_kind.id"), index=True)
    what: Mapped[str]
    line_root_id: Mapped[int | None] = mapped_column(sa.ForeignKey("quote_line.id"), index=True)
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    hours_low: Mapped[float | None]
    hours_likely: Mapped[float | None]
    hours_high: Mapped[float | None]
    attended: Mapped[bool] = mapped_column(default=True)
    unattended_hours: Mapped[float] = mapped_column(default=0.0)  # drying, curing or soaking that follows
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    finished_at: Mapped[datetime | None] = mapped_column(index=True)
    finished_by: Mapped[str] = mapped_column(default="")
    took_hours: Mapped[float | None]
    log_ratio: Mapped[float | None]
    said_low_hours: Mapped[float | None]  # between which it was claimed to end (80 %), by the history of when it began
    said_high_hours: Mapped[float | None]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str] = mapped_column(default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    kind: Mapped[WorkKind] = relationship()
    entries: Mapped[list[TimeEntry]] = relationship(back_populates="task", order_by="TimeEntry.id")
    before: Mapped[list[TaskBefore]] = relationship(foreign_keys="TaskBefore.task_id", order_by="TaskBefore.id")

    __table_args__ = (
        sa.CheckConstraint("what <> ''", name="says_what"),
        sa.CheckConstraint("(role = 'agreed item') = (line_root_id IS NOT NULL)", name="item_of_a_quote"),
        sa.CheckConstraint("hours_likely IS NULL OR (hours_low >= 0 AND hours_likely >= hours_low AND hours_high >= hours_likely)",
                           name="hours_in_order"),
        sa.CheckConstraint("(hours_likely IS NULL) = (hours_low IS NULL) AND (hours_likely IS NULL) = (hours_high IS NULL)",
                           name="three_hours_or_none"),
        sa.CheckConstraint("unattended_hours >= 0", name="unattended_not_negative"),
        sa.CheckConstraint("(finished_at IS NULL) = (finished_by = '')", name="finished_by_someone"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn_with_reason"),
        sa.CheckConstraint("(said_low_hours IS NULL) = (said_high_hours IS NULL)", name="said_both_ends"),
        sa.Index("uq_task_one_of_a_role", "order_id", "role", unique=True,
                 sqlite_where=sa.text("role IN ('diagnosis', 'strip-down', 'way back')"),
                 postgresql_where=sa.text("role IN ('diagnosis', 'strip-down', 'way back')")),
        sa.UniqueConstraint("order_id", "line_root_id"),
    )


class TaskBefore(Base):
    """One task is to be finished before another begins."""

    __tablename__ = "task_before"

    id: Mapped[int] = mapped_column(primary_key=True)
    task_id: Mapped[int] = mapped_column(sa.ForeignKey("task.id"), index=True)
    first_id: Mapped[int] = mapped_column(sa.ForeignKey("task.id"), index=True)

    __table_args__ = (
        sa.UniqueConstraint("task_id", "first_id"),
        sa.CheckConstraint("task_id <> first_id", name="not_before_itself"),
    )


class TimeEntry(Base):
    """Somebody worked on a task from one moment to another; running while `stopped_at` is empty. A correction is a later entry that
    names the one it takes the place of: the first stays readable. Moments are the server's, to the microsecond, never rounded.
    """

    __tablename__ = "time_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    task_id: Mapped[int] = mapped_column(sa.ForeignKey("task.id"), index=True)
    step: Mapped[str] = mapped_column(default="")  # of the way back
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"), index=True)
    person_name: Mapped[str]
    unattended: Mapped[bool] = mapped_column(default=False)  # it dries, cures or soaks by itself
    started_at: Mapped[datetime]
    stopped_at: Mapped[datetime | None]
    stopped_by: Mapped[str] = mapped_column(default="")
    allowed_by: Mapped[str] = mapped_column(default="")  # who allowed it, where nobody had agreed to pay for it
    takes_place_of_id: Mapped[int | None] = mapped_column(sa.ForeignKey("time_entry.id"), unique=True)
    reason: Mapped[str] = mapped_column(default="")
    entered_at: Mapped[datetime]
    entered_by: Mapped[str]

    task: Mapped[Task] = relationship(back_populates="entries")

    __table_args__ = (
        sa.CheckConstraint("person_name <> ''", name="says_who"),
        sa.CheckConstraint("stopped_at IS NULL OR stopped_at >= started_at", name="stops_after_it_starts"),
        sa.CheckConstraint("(stopped_at IS NULL) = (stopped_by = '')", name="stopped_by_someone"),
        sa.CheckConstraint("takes_place_of_id IS NULL OR (reason <> '' AND stopped_at IS NOT NULL)", name="corrected_with_reason"),
        sa.Index("uq_time_entry_one_running", "person_id", unique=True,
                 sqlite_where=sa.text("stopped_at IS NULL AND NOT unattended"),
                 postgresql_where=sa.text("stopped_at IS NULL AND NOT unattended")),
        sa.Index("uq_time_entry_one_unattended", "task_id", unique=True,
                 sqlite_where=sa.text("stopped_at IS NULL AND unattended"),
                 postgresql_where=sa.text("stopped_at IS NULL AND unattended")),
    )


class HoursCall(Base):
    """A call to whoever may approve cost, as the hours come near what was agreed; its answer in the ledger beside it. Frozen."""

    __tablename__ = "hours_call"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    how: Mapped[Called] = mapped_column(words(Called))
    percent: Mapped[int]  # of the agreed hours that were spent then
    spent_hours: Mapped[float]
    ceiling_minor: Mapped[int]  # what was agreed when the call was made
    authority_id: Mapped[int | None] = mapped_column(sa.ForeignKey("authority.id"), unique=True)  # the answer, if it is for more
    reached_at: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("percent >= 0 AND spent_hours >= 0 AND ceiling_minor >= 0", name="not_negative"),
        sa.CheckConstraint("(how = 'agreed to more') = (authority_id IS NOT NULL)", name="more_is_in_the_ledger"),
    )


class OrderOutlook(Base):
    """How an order's hours stood when something of it was written last, and when it is likely to be finished. Derived."""

    __tablename__ = "order_outlook"

    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), primary_key=True)
    spent_hours: Mapped[float]  # of entries that have ended
    running_since: Mapped[list[Any]] = mapped_column(sa.JSON)  # moments, ISO 8601
    to_come_hours: Mapped[float]
    p50_hours: Mapped[float]
    p80_hours: Mapped[float]
    ceiling_hours: Mapped[float | None]
    queue_median_hours: Mapped[float]  # of what is still to come, as the queue is simulated; 0: nothing is
    queue_log_sd: Mapped[float]
    unattended_hours: Mapped[float]
    part_on: Mapped[date | None]  # when its last part is expected
    waits_without_day: Mapped[str]  # why no day can be told; empty if one can
    as_of: Mapped[datetime]
    finish_p50: Mapped[date | None]
    finish_p80: Mapped[date | None]
    finish_p90: Mapped[date | None]
    late_share: Mapped[float | None] = mapped_column(index=True)  # of the simulated queues in which the promised day is passed
    simulated_at: Mapped[datetime | None]


class RunningTimer(Base):
    """The timer that runs of a person, with what the header says of it. Read only: a view of three tables, not one of its own."""

    __table__ = (
        sa.select(TimeEntry.id, TimeEntry.person_id, TimeEntry.person_name, TimeEntry.order_id, RepairOrder.number, Amp.maker,
                  Amp.model, Task.what, TimeEntry.step, TimeEntry.started_at)
        .join(Task, Task.id == TimeEntry.task_id).join(RepairOrder, RepairOrder.id == TimeEntry.order_id)
        .join(Amp, Amp.id == RepairOrder.amp_id).where(TimeEntry.stopped_at.is_(None), ~TimeEntry.unattended)
        .subquery("running_timer"))
    __mapper_args__ = {"primary_key": [__table__.c.id]}

    if TYPE_CHECKING:
        id: int
        person_id: int
        person_name: str
        order_id: int
        number: int
        maker: str
        model: str
        what: str
        step: str
        started_at: datetime


# It comes with the sign-in, in the one question that every page asks anyway: the header shows it on each.
_MINE = Person.id == foreign(RunningTimer.__table__.c.person_id)
Person.timer = relationship(RunningTimer, primaryjoin=_MINE, viewonly=True, uselist=False, lazy="joined")
