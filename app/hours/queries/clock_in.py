"""Whose timer runs on what, and which entries should be looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from flask import g
from sqlalchemy.orm import aliased

from app import clock
from app.db import session
from app.hours.models import RunningTimer, Task, TimeEntry
from app.hours.rules.timing import Forgotten, Span, forgotten
from app.orders.models import RepairOrder
from app.records.models import Amp
from app.shop.queries import the_shop

LOOKED_BACK = timedelta(days=31)  # entries older than this were looked at or will not be


@dataclass(frozen=True)
class Timer:
    """One timer: who works on which task of which order since when; `forgotten` says why it should be looked at."""

    entry_id: int
    order_id: int
    number: int
    title: str
    what: str
    step: str
    person_id: int | None
    person: str
    unattended: bool
    span: Span
    forgotten: Forgotten | None

    @property
    def seconds(self) -> int:
        """So far."""
        return max(int(((self.span.end or clock.now()) - self.span.start).total_seconds()), 0)

    @property
    def figures(self) -> str:
        """Hours, minutes and seconds: '1:02:03'."""
        return f"{self.seconds // 3600}:{self.seconds // 60 % 60:02d}:{self.seconds % 60:02d}"

    @property
    def said(self) -> str:
        """The same in words."""
        return f"{self.seconds // 3600} h {self.seconds // 60 % 60} min"


_COLUMNS = (TimeEntry.id, TimeEntry.order_id, RepairOrder.number, Amp.maker, Amp.model, Task.what, TimeEntry.step,
            TimeEntry.person_id, TimeEntry.person_name, TimeEntry.unattended, TimeEntry.started_at, TimeEntry.stopped_at)
_JOINED = (sa.select(*_COLUMNS).join(Task, Task.id == TimeEntry.task_id).join(RepairOrder, RepairOrder.id == TimeEntry.order_id)
           .join(Amp, Amp.id == RepairOrder.amp_id).order_by(TimeEntry.started_at, TimeEntry.id))


def my_timer() -> Timer | None:
    """The timer of the person signed in, if one runs: what stands in the header of every page.

    Whatever their role is by now: who worked at the bench when it was started can still see and stop it.
    """
    person = g.get("person")
    found: RunningTimer | None = person.timer if person is not None else None
    if found is None:
        return None
    return _timer((found.id, found.order_id, found.number, found.maker, found.model, found.what, found.step, found.person_id,
                   found.person_name, False, found.started_at, None), clock.now())


def running() -> list[Timer]:
    """Every timer that runs, unattended ones too, the longest first."""
    now = clock.now()
    return [_timer(row, now) for row in session().execute(_JOINED.where(TimeEntry.stopped_at.is_(None)))]


def to_look_at(order_id: int | None = None) -> list[Timer]:
    """Entries of the last month that ran over a break, over closing time or too long, and that nobody corrected or confirmed."""
    now, later = clock.now(), aliased(TimeEntry)
    asked = _JOINED.outerjoin(later, later.takes_place_of_id == TimeEntry.id).where(
        ~TimeEntry.unattended, later.id.is_(None), TimeEntry.takes_place_of_id.is_(None), TimeEntry.reason == "",
        RepairOrder.ended_as.is_(None), TimeEntry.started_at > now - LOOKED_BACK)
    if order_id is not None:
        asked = asked.where(TimeEntry.order_id == order_id)
    found: Sequence[Timer] = [_timer(row, now) for row in session().execute(asked)]
    return [one for one in found if one.forgotten is not None]


def _timer(row: Sequence[Any], now: datetime) -> Timer:
    key, order_id, number, maker, model, what, step, person_id, name, unattended, started, stopped = row
    shop, span = the_shop(), Span(started, stopped)
    asked = None if unattended else forgotten(span, now, shop.opening, shop.zone, shop.timer_longest_hours)
    return Timer(key, order_id, number, f"{maker} {model}".strip(), what, step, person_id, name, unattended, span,
                 asked)
