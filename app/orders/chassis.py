"""Whether hands were in the amp. Every act that opens the chassis says so here; what proves a closed amp asks here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.journal.service import Actor
from app.orders.models import ChassisOpening
from app.request_cache import cached_until_write


def opened(order_id: int, why: str, *, by: Actor, now: datetime) -> None:
    """Hands were in it: `why` reads on after "After it began, …"."""
    session().add(ChassisOpening(order_id=order_id, at=now, by_name=by.name, why=why))
    session().flush()


@cached_until_write
def last_opening(order_id: int) -> int | None:
    """The id of the newest opening; what begins now counts as long as no later one comes."""
    return session().scalar(sa.select(sa.func.max(ChassisOpening.id)).where(ChassisOpening.order_id == order_id))


@cached_until_write
def openings_since(order_id: int, since: datetime) -> Sequence[ChassisOpening]:
    """Every opening after this moment, oldest first."""
    return session().scalars(sa.select(ChassisOpening).where(ChassisOpening.order_id == order_id, ChassisOpening.at > since)
                             .order_by(ChassisOpening.id)).all()


def opened_after(order_id: int, last: int | None) -> str:
    """What opened the chassis after this opening (None: after none), in words; empty if it stayed closed."""
    newest = last_opening(order_id)
    if newest is None or newest <= (last or 0):
        return ""
    found = session().scalar(sa.select(ChassisOpening.why).where(
        ChassisOpening.order_id == order_id, ChassisOpening.id > (last or 0)).order_by(ChassisOpening.id).limit(1))
    return found or ""
