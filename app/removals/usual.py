"""What the form of the next removal offers for each kind: its tag, and the pieces of the last of that kind by one tap."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.removals import queries
from app.removals.marks import usual_mark
from app.removals.models import Removal
from app.removals.rules import Kind
from app.shop.queries import the_shop
from app.shop.wording import swap


def offers(order: RepairOrder, number: int) -> dict[str, dict[str, Any]]:
    """Kind → `mark`, and `last` where one of the kind came off before; for as-last.mjs."""
    taken = [one.mark for struck in (False, True) for one in queries.of_order(order, struck=struck)]
    last = queries.last_of_each_kind(order)
    return {kind.value: {"mark": usual_mark(kind, number, taken), "last": _last(last[kind], order) if kind in last else None}
            for kind in Kind}


def _last(one: Removal, order: RepairOrder) -> dict[str, Any]:
    """Its pieces; where it sat and what it belongs to as well, if it is of the same amp."""
    here = one.order_id == order.id
    kind = swap(one.kind.word, the_shop().wording)
    stack = queries.stack_in_words(one, order) if here else list(one.stack)
    return {"words": f"As the last {kind}, {one.mark}" if here else f"As the last {kind}, on another amp", "stack": stack,
            "counts": one.fasteners, "thread": one.thread, "side": one.side.value if one.side else "",
            **({"place": one.place, "unit": one.unit, "fixed_to": one.fixed_to} if here else {})}
