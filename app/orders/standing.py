"""What an order waits for: worked out from the gates, or read from its stored row while that is good.

A decision never reads the row: moving on and handing out ask the gates themselves.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import sqlalchemy as sa
from flask import g

from app import clock
from app.db import database, session
from app.errors import Missing
from app.orders.gates import Clock, clocks_of, missing_to_leave, shown_discharged, why_not_energise
from app.orders.models import OrderStanding, RepairOrder
from app.orders.stages import Stage, next_stage
from app.shop.queries import the_shop

KEPT = 2000  # standings of rows that have run out, kept in memory until the next write renews them
PROMISED = "The promised day is over"


@dataclass(frozen=True)
class Standing:
    """Where an order stands: the next needed act, all that is missing (what holds the amp first), warnings, the next clock."""

    waits_for: str
    missing: tuple[Missing, ...] = ()
    held: bool = False
    do_not_energise: str = ""
    discharged: bool = False
    overdue: bool = False
    clock: Clock | None = None
    good_until: datetime | None = None

    def is_good(self, now: datetime) -> bool:
        """Whether it can still be relied on, if nothing was written since."""
        return self.good_until is None or now < self.good_until


def calculate(order: RepairOrder, now: datetime) -> Standing:
    """Work it out from the records as they are."""
    if not order.is_open:
        return Standing(order.ended_as.word if order.ended_as else "")
    missing = tuple(sorted(missing_to_leave(order), key=lambda one: not one.holds))
    running = sorted([*clocks_of(order), *_promise(order)], key=lambda one: one.at)
    ahead = [one for one in running if one.at > now]
    return Standing(
        waits_for=missing[0].text if missing else ready(order.stage), missing=missing, held=any(one.holds for one in missing),
        do_not_energise=why_not_energise(order), discharged=bool(shown_discharged(order)),
        overdue=any(one.at <= now for one in _promise(order)),
        clock=next((one for one in ahead if one.text), None), good_until=ahead[0].at if ahead else None)


def ready(stage: Stage) -> str:
    """What is to be done with an order that lacks nothing."""
    there = next_stage(stage)
    return f"Move it on to {there.word.lower()}: nothing is missing." if there else "Hand the amp out: nothing is missing."


def _promise(order: RepairOrder) -> list[Clock]:
    if order.promised_on is None:
        return []
    return [Clock(after(order.promised_on), PROMISED, "bench.order", (("order_id", order.id),))]


def after(day: date) -> datetime:
    """The moment at which this day is over in the shop's zone."""
    return datetime.combine(day + timedelta(days=1), time(), the_shop().zone).astimezone(UTC)


def of_order(order: RepairOrder) -> Standing:
    """As stored, if that is good; else worked out now. Writes nothing."""
    row = session().execute(sa.select(OrderStanding.__table__).where(OrderStanding.order_id == order.id)).mappings().first()
    return of_row(row, order) if row is not None else calculate(order, clock.now())


def of_row(row: sa.RowMapping, order: RepairOrder) -> Standing:
    """What a row says, if it is good; else what it would say if it were renewed now, worked out once while it stays as it is."""
    now = clock.now()
    if row["turn"] is not None and (stored := from_row(row)).is_good(now):
        return stored
    if row["turn"] is None or g.get("db_writing"):
        return calculate(order, now)  # not stored at all, or not saved yet: not kept either
    kept, key = _kept(), (order.id, row["turn"])
    found = kept.get(key)
    if found is None or not found.is_good(now):
        found = kept[key] = calculate(order, now)
    return found


def stored(order_ids: Iterable[int]) -> dict[int, sa.RowMapping]:
    """The rows of these orders."""
    asked = sa.select(OrderStanding.__table__).where(OrderStanding.order_id.in_(list(order_ids)))
    return {row["order_id"]: row for row in session().execute(asked).mappings()}


def to_row(standing: Standing) -> dict[str, Any]:
    """The columns that hold it."""
    at = standing.clock
    return {"waits_for": standing.waits_for, "held": standing.held, "do_not_energise": standing.do_not_energise,
            "discharged": standing.discharged,
            "missing": [[one.text, one.endpoint, _lists(one.values), one.holds] for one in standing.missing],
            "overdue": standing.overdue, "clock_at": at.at if at else None, "clock_text": at.text if at else "",
            "clock_place": [at.endpoint, _lists(at.values)] if at else [], "good_until": standing.good_until}


def from_row(row: sa.RowMapping) -> Standing:
    """What a row says, good or not; a row read without `missing` and `clock_place` says only the next act."""
    at, place = row["clock_at"], row.get("clock_place") or ["", []]
    return Standing(
        waits_for=row["waits_for"], held=row["held"], do_not_energise=row["do_not_energise"],
        discharged=row["discharged"], overdue=row["overdue"],
        missing=tuple(Missing(text, endpoint, _pairs(values), holds) for text, endpoint, values, holds in row.get("missing", ())),
        clock=Clock(at, row["clock_text"], place[0], _pairs(place[1])) if at else None,
        good_until=row["good_until"])


def differences(standing: Standing, other: Standing) -> list[str]:
    """The names of the facts in which two differ, as a row would keep them."""
    mine, theirs = to_row(standing), to_row(other)
    return [name for name in mine if mine[name] != theirs[name]]


def untrue(now: datetime) -> Iterator[str]:
    """Every order whose stored standing is missing, or claims what its gates do not say, in words. Nothing is changed."""
    for order in session().scalars(sa.select(RepairOrder).order_by(RepairOrder.id)).all():
        row = stored([order.id]).get(order.id)
        if row is None:
            if order.is_open:
                yield f"repair {order.number}: what it waits for is not stored"
        elif from_row(row).is_good(now) and (wrong := differences(from_row(row), calculate(order, now))):
            yield f"repair {order.number}: what it is said to wait for is not what its gates say ({', '.join(wrong)})"


def _lists(values: Sequence[tuple[str, Any]]) -> list[list[Any]]:
    return [[name, value] for name, value in values]


def _pairs(values: Sequence[Sequence[Any]]) -> tuple[tuple[str, Any], ...]:
    return tuple((name, value) for name, value in values)


class _Kept:
    """The last few standings that were worked out for a page, the oldest let go of first."""

    def __init__(self) -> None:
        self._found: OrderedDict[tuple[int, int], Standing] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: tuple[int, int]) -> Standing | None:
        with self._lock:
            return self._found.get(key)

    def __setitem__(self, key: tuple[int, int], standing: Standing) -> None:
        with self._lock:
            self._found[key] = standing
            while len(self._found) > KEPT:
                self._found.popitem(last=False)


def _kept() -> _Kept:
    """Beside the database that they were read from: another one has other orders under the same numbers."""
    kept: _Kept = database().memory.setdefault("standings", _Kept())
    return kept
