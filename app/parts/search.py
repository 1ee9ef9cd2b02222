"""How the parts that an order needs are found."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa
from sqlalchemy.orm import Session

from app.access.rules import May
from app.orders.models import RepairOrder
from app.parts.models import Part
from app.search.models import Kind
from app.search.service import Entry, Finds, Ids, Source


def _describe(current: Session, ids: Ids) -> Iterable[Entry]:
    asked = sa.select(Part, RepairOrder.number).join(RepairOrder, Part.order_id == RepairOrder.id).where(Part.id.in_(ids))
    for part, number in current.execute(asked):
        yield Entry(part.id, part.order_id, part.title,
                    (("for", part.place), ("supplier", part.supplier), ("batch", part.batch), ("order", str(number))))


NEEDS = Finds(Kind.NEED, May.SEE, lambda _, order_id: ("parts.page", {"order_id": order_id}),
              (Source(Part, frozenset({"what", "quantity", "place", "supplier", "batch", "order_id"})),), _describe, Part)
