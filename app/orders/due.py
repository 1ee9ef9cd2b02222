"""What is due in the house, by day: each room gives its own as one query, and all of them are asked as one.

Which there are is one visible tuple in app.gates, handed in when the application is built. A source gives the rows that may be
due, all with the same columns, and reads them into what a person is shown; the bench list and the page of what is due ask the
database once, however many sources there are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Any

import sqlalchemy as sa

from app.db import UtcTime, session
from app.errors import Missing
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer

SOON = 7  # days ahead that the page shows
UNTIL = sa.bindparam("due_until", type_=sa.Date())  # the last day asked about
OPEN = RepairOrder.ended_as.is_(None)


@dataclass(frozen=True)
class Due:
    """One thing to do by a day: what, whom it is about, and the one act that clears it.

    `at`: the moment, where a time counts by the minute. `title`: what the order is of; empty for what is of the house.
    `key` names it for good: the same thing keeps it from day to day.
    """

    kind: str
    text: str
    on: date
    act: Missing
    key: str
    at: datetime | None = None
    order_id: int | None = None
    number: int | None = None
    title: str = ""
    who: str = ""
    phone: str = ""
    email: str = ""

    def overdue(self, today: date, now: datetime) -> bool:
        """Whether its day, or its moment, is past."""
        return self.at <= now if self.at is not None else self.on < today


@dataclass(frozen=True)
class Asked:
    """The moment of asking, its day in the shop, and the shop's zone."""

    now: datetime
    zone: tzinfo

    @property
    def today(self) -> date:
        return self.now.astimezone(self.zone).date()

    def day_of(self, moment: datetime) -> date:
        """The day of a moment in the shop."""
        return moment.astimezone(self.zone).date()


@dataclass(frozen=True)
class Source:
    """What of one room may be due. `rows` is made by `asks`; `read` turns its rows, and only its own, into what is due.

    `ahead`: days before its day from which the page shows it.
    """

    kind: str
    rows: sa.Select[Any]
    read: Callable[[Sequence[Any], Asked], Iterable[Due]]
    ahead: int = SOON


_NOTHING: dict[str, sa.types.TypeEngine[Any]] = {
    "order_id": sa.Integer(), "number": sa.Integer(), "maker": sa.Text(), "model": sa.Text(), "who_id": sa.Integer(),
    "who": sa.Text(), "phone": sa.Text(), "email": sa.Text(), "subject_id": sa.Integer(), "day": sa.Date(), "at": UtcTime(),
    "words": sa.Text(), "more": sa.Text(), "share": sa.Float()}
_OF_ORDER = {"order_id": RepairOrder.id, "number": RepairOrder.number, "maker": Amp.maker, "model": Amp.model}
_OF_CUSTOMER = {"who_id": Customer.id, "who": Customer.name, "phone": Customer.phone, "email": Customer.email}


def asks(kind: str, *, of_order: bool = True, of_customer: bool = True, **columns: Any) -> sa.Select[Any]:
    """A query with the columns that every source has; what is not named is empty. The caller joins and narrows it."""
    given = {**(_OF_ORDER if of_order else {}), **(_OF_CUSTOMER if of_customer else {}), **columns}
    if strange := given.keys() - _NOTHING.keys():
        raise TypeError(f"no source has the columns {sorted(strange)}")
    made = [sa.cast(given.get(name, sa.null()), how).label(name) if name not in given else given[name].label(name)
            for name, how in _NOTHING.items()]
    return sa.select(sa.literal(kind, sa.Text()).label("kind"), *made)


def from_row(row: Any, text: str, on: date, act: Missing, **more: Any) -> Due:
    """What a row says of order and customer, with what is due of it."""
    key = "-".join(str(part) for part in (row.kind.replace(" ", "-").lower(), row.order_id or 0, row.subject_id or 0))
    return Due(row.kind, text, on, act, key, order_id=row.order_id, number=row.number,
               title=f"{row.maker} {row.model}".strip() if row.number is not None else "", who=row.who or "",
               phone=row.phone or "", email=row.email or "", **more)


_sources: tuple[Source, ...] = ()
_asked: sa.CompoundSelect[Any] | None = None


def use(sources: Sequence[Source]) -> None:
    """Ask these from now on."""
    global _sources, _asked  # noqa: PLW0603 - the spine knows no room
    _sources = tuple(sources)
    _asked = sa.union_all(*(one.rows for one in _sources)) if _sources else None


def due(now: datetime, zone: tzinfo, *, ahead: int | None = None) -> list[Due]:
    """What is due, overdue first, then by day and in the order of the rooms. `ahead` days in place of each source's own."""
    if _asked is None:
        return []
    asked = Asked(now, zone)
    furthest = max(one.ahead for one in _sources) if ahead is None else ahead
    rows = session().execute(_asked, {"due_until": asked.today + timedelta(days=furthest)}).all()
    by_kind: dict[str, list[Any]] = {}
    for row in rows:
        by_kind.setdefault(row.kind, []).append(row)
    found = [one for source in _sources if source.kind in by_kind for one in source.read(by_kind[source.kind], asked)
             if one.on <= asked.today + timedelta(days=source.ahead if ahead is None else ahead)]
    return sorted(found, key=lambda one: (one.on, one.at or datetime.combine(one.on, time.max, zone)))


def counts(found: Iterable[Due], now: datetime, zone: tzinfo) -> tuple[int, int]:
    """How many are overdue, and how many more are due today."""
    asked, late, today = Asked(now, zone), 0, 0
    for one in found:
        if one.overdue(asked.today, now):
            late += 1
        elif one.on <= asked.today:
            today += 1
    return late, today
