"""Keeping a sheet of which each order has one: made the first time, changed later, the journal naming what changed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

import sqlalchemy as sa

from app.db import session
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.service import must_be_open

T = TypeVar("T")


def keep(kind: type[T], order: RepairOrder, values: Mapping[str, Any], event: Event, *, by: Actor, now: datetime,
         said: Mapping[str, Any], key: Mapping[str, Any] | None = None, anew: bool = False) -> T:
    """The sheet of this order with these values; `said` is the same in the words of the history page.

    `anew`: what was said before does not count any more, so the same is written down again with its new moment.
    """
    must_be_open(order)
    which = key or {"order_id": order.id}
    found = session().scalars(sa.select(kind).filter_by(**which)).one_or_none()
    given = {**values, "at": now, "by_name": by.name}
    if found is None:
        found = kind(**{"order_id": order.id, **which, **given})
        session().add(found)
        record(event, found, by=by, now=now, after=said)
        return found
    if anew or any(getattr(found, name) != value for name, value in values.items()):
        for name, value in given.items():
            setattr(found, name, value)
        record(event, found, by=by, now=now, before={"said before": True}, after=said)
    return found
