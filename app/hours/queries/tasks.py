"""The shop's kinds of work, and the tasks and time entries of an order as they stand."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import aliased, joinedload

from app.db import session
from app.hours.models import HoursCall, Task, TimeEntry, WorkKind
from app.hours.rules.words import OTHER, SHIPPED, KindFacts
from app.orders.models import RepairOrder
from app.request_cache import cached_until_write


@cached_until_write
def kinds() -> Sequence[WorkKind]:
    """Every kind of work that the shop has stored, those no longer used too."""
    return session().scalars(sa.select(WorkKind).order_by(WorkKind.id)).all()


def offered_kinds() -> list[KindFacts]:
    """The kinds in use: the stored list, or what is shipped while nothing is stored."""
    stored = kinds()
    return [KindFacts(one.name, tuple(one.areas)) for one in stored if one.retired_at is None] if stored else list(SHIPPED)


def find_kind(kind_id: int) -> WorkKind | None:
    """The kind with this id."""
    return session().get(WorkKind, kind_id)


def kind_for(area: str) -> str:
    """The kind that findings of an area propose."""
    return next((one.name for one in offered_kinds() if area in one.areas), OTHER)


@cached_until_write
def tasks_of(order: RepairOrder) -> Sequence[Task]:
    """The tasks of an order that have a row, oldest first, withdrawn ones too; each with its times, in one question."""
    return session().scalars(sa.select(Task).where(Task.order_id == order.id).order_by(Task.id).options(
        joinedload(Task.kind), joinedload(Task.before), joinedload(Task.entries))
        .execution_options(populate_existing=True)).unique().all()


def find_task(task_id: int) -> Task | None:
    """The task with this id."""
    return session().get(Task, task_id)


def entries_of(order: RepairOrder) -> list[TimeEntry]:
    """Every time entry of an order, oldest first, those that a later one took the place of too."""
    return sorted((entry for task in tasks_of(order) for entry in task.entries), key=lambda entry: entry.id)


def standing(entries: Sequence[TimeEntry]) -> list[TimeEntry]:
    """Those that count: none took their place."""
    replaced = {one.takes_place_of_id for one in entries}
    return [one for one in entries if one.id not in replaced]


def find_entry(entry_id: int) -> TimeEntry | None:
    """The entry with this id."""
    return session().get(TimeEntry, entry_id)


def running_of(person_id: int) -> TimeEntry | None:
    """The timer of a person, if one runs."""
    return session().scalars(sa.select(TimeEntry).where(TimeEntry.person_id == person_id, TimeEntry.stopped_at.is_(None),
                                                        ~TimeEntry.unattended)).first()


def entries_between(person_id: int, first: sa.ColumnElement[bool]) -> list[TimeEntry]:
    """A person's own attended entries that count, of those that fulfil a condition."""
    later = aliased(TimeEntry)
    return list(session().scalars(
        sa.select(TimeEntry).outerjoin(later, later.takes_place_of_id == TimeEntry.id)
        .where(TimeEntry.person_id == person_id, ~TimeEntry.unattended, later.id.is_(None), first).order_by(TimeEntry.id)))


@cached_until_write
def calls_of(order: RepairOrder) -> Sequence[HoursCall]:
    """Calls about the hours, newest first."""
    return session().scalars(sa.select(HoursCall).where(HoursCall.order_id == order.id).order_by(HoursCall.id.desc())).all()
