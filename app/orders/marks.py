"""What stands above everything on every page of an order: that it must not be energised, and that it is on power."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from app.orders import power
from app.orders.models import PowerUp, Quarantine, RepairOrder


@dataclass(frozen=True)
class Marks:
    """Either may be None; `since` is the clock time of the power-up in words."""

    barred: Quarantine | None
    on: PowerUp | None
    since: str


def marks(order: Any) -> Marks | None:
    """The marks of an open order; None where there is nothing to say, or where a page is about no order."""
    if not isinstance(order, RepairOrder) or not order.is_open:
        return None
    barred, on = power.do_not_energise(order.id), power.powered(order.id)
    return Marks(barred, on, power.clock_time(on.since) if on else "") if barred or on else None
