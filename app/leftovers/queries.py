"""Reading the list of what could not be matched."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.findings import queries as findings
from app.findings.models.special import BakeOut
from app.leftovers.models import Leftover, Told
from app.orders import names
from app.orders.models import RepairOrder
from app.photos.models import Pin

# What words of each sort can mean.
KINDS = {Told.UNDER: ("removal",), Told.FIXED: ("removal",), Told.PLACE: ("removal", "position", "finding"),
         Told.PIN: ("removal", "finding", "position"), Told.BAKED: ("removal", "board")}


def find(leftover_id: int) -> Leftover | None:
    return session().get(Leftover, leftover_id)


def everything() -> Sequence[tuple[Leftover, RepairOrder]]:
    """All of them with their orders: what is open first, then by order."""
    rows = session().execute(sa.select(Leftover, RepairOrder).join(RepairOrder, RepairOrder.id == Leftover.order_id)
                             .order_by(Leftover.settled_at.is_not(None), Leftover.order_id, Leftover.id))
    return [(one, order) for one, order in rows]


def how_many() -> int:
    """Those that nobody has matched or set aside."""
    return session().scalar(sa.select(sa.func.count()).select_from(Leftover).where(Leftover.settled_at.is_(None))) or 0


def alike(leftover: Leftover) -> Sequence[Leftover]:
    """Other open entries that say the same in the same words, whatever repair they are of."""
    return session().scalars(sa.select(Leftover).where(
        Leftover.id != leftover.id, Leftover.settled_at.is_(None), Leftover.told == leftover.told,
        sa.func.lower(Leftover.text) == leftover.text.lower()).order_by(Leftover.id)).all()


def choices(leftover: Leftover, order: RepairOrder) -> list[names.Named]:
    """The records of the order that its words could mean; not the record itself."""
    return [listed_part for listed_part in names.listed(order, *KINDS[leftover.told])
            if (listed_part.kind, listed_part.id) != (leftover.record_table, leftover.record_id)]


def pin_of(leftover: Leftover) -> Pin | None:
    """The pin that names this entry."""
    return session().scalar(sa.select(Pin).where(Pin.leftover_id == leftover.id))


def bake_of(leftover: Leftover, order: RepairOrder) -> BakeOut | None:
    """The bake-out that it is about."""
    return next((one for one in findings.bake_outs(order) if one.id == leftover.record_id), None)
