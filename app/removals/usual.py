"""What the form of the next removal offers for each kind: tag and cavity, and the pieces of the last of it by one tap."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from app.orders.models import RepairOrder
from app.removals import queries
from app.removals.marks import usual_mark
from app.removals.models import Removal
from app.removals.rules import Kind
from app.removals.spaces import implied_cavity, usual_cavity
from app.shop.queries import the_shop
from app.shop.wording import swap


def cavity_of(kind: Kind, under: Iterable[str], off: Iterable[Removal]) -> str:
    """Where it lies unless somebody says otherwise.

    Under the board or in the box that had to come off before it; else where the last of its kind lay; else where such a thing
    usually does.
    """
    listed = list(off)
    over = {one.mark: implied_cavity(one.kind, one.mark) for one in listed}
    if spaces := [over[mark] for mark in under if over.get(mark)]:
        return spaces[0]
    return next((one.cavity for one in reversed(listed) if one.kind is kind and one.cavity and not one.under), usual_cavity(kind))


def offers(order: RepairOrder, number: int) -> dict[str, dict[str, Any]]:
    """Kind → `mark`, `cavity`, and `last` where one of the kind came off before; for as-last.mjs."""
    off = queries.of_order(order)
    taken = [one.mark for one in (*off, *queries.of_order(order, struck=True))]
    last = queries.last_of_each_kind(order)
    return {kind.value: {"mark": usual_mark(kind, number, taken), "cavity": cavity_of(kind, (), off),
                         "last": _last(last[kind], order) if kind in last else None}
            for kind in Kind}


def _last(one: Removal, order: RepairOrder) -> dict[str, Any]:
    """Its pieces; where it sat and what it belongs to as well, if it is of the same amp."""
    here = one.order_id == order.id
    kind = swap(one.kind.word, the_shop().wording)
    stacks = queries.stacks_in_words(one, order) if here else list(one.stacks)
    first = list(stacks.pop(0).pieces) if one.stack else []
    return {"words": f"As the last {kind}, {one.mark}" if here else f"As the last {kind}, on another amp", "stack": first,
            "times": one.stack_times, "others": [each.text for each in stacks], "counts": one.fasteners, "thread": one.thread,
            "side": one.side.value if one.side else "",
            **({"place": one.place, "unit": one.unit, "fixed_to": one.fixed_to} if here else {})}
