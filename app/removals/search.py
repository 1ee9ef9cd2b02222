"""How a removed part is found by its tag: with its order's number, or alone on an amp that is in the shop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from app.orders.models import RepairOrder
from app.removals.models import Removal
from app.search.service import Tag

MOST = 20
LONGEST = 8  # signs of a tag
_MARKS = (" ", "-", ".", "/", "_")


def by_tag(current: Session, words: Sequence[str]) -> list[Tag]:
    """Removed parts whose tag says this: "P1" of the open orders, "1042 P1" of that order, ended or not. Struck ones are not."""
    number = int(words[0]) if len(words) > 1 and words[0].isascii() and words[0].isdigit() and len(words[0]) < 9 else None
    tag = "".join(words[1:] if number is not None else words)
    if not 0 < len(tag) <= LONGEST:
        return []
    which = RepairOrder.ended_as.is_(None) if number is None else RepairOrder.number == number
    orders = current.scalars(sa.select(RepairOrder.id).where(which)).all()  # first, so that no planner walks through all removals
    if not orders:
        return []
    asked = (sa.select(Removal).where(Removal.order_id.in_(orders), Removal.struck_at.is_(None),
                                      sa.func.lower(_unmarked(Removal.mark)) == tag)
             .order_by(Removal.order_id.desc(), Removal.number).limit(MOST))
    return [Tag(one.title, one.order_id, ("removals.one", {"order_id": one.order_id, "removal_id": one.id}))
            for one in current.scalars(asked)]


def _unmarked(text: Any) -> Any:
    for mark in _MARKS:
        text = sa.func.replace(text, mark, "")
    return text
