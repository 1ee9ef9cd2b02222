"""What runs by the clock while parts are awaited."""

from __future__ import annotations

from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.orders.standing import after
from app.parts import queries
from app.parts.rules import PartState


def part_expected(order: RepairOrder) -> list[Clock]:
    """The day on which an ordered part was to come is past."""
    return [Clock(after(part.expected_on), f"{part.title} expected before", "parts.receive",
                  (("order_id", order.id), ("part_id", part.id)))
            for part in queries.parts_of(order) if part.state is PartState.ORDERED and part.expected_on]
