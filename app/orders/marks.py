"""What stands above everything on every page of an order: do not energise, powered since, discharged or not, what was declined."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from app.orders import gates, power
from app.orders.models import PowerUp, Quarantine, RepairOrder


@dataclass(frozen=True)
class Marks:
    """`barred` and `on` may be None; `since` is the clock time of the power-up in words, `discharged` what shows it, or nothing;
    `declined` names each hazard whose cure was declined.
    """

    barred: Quarantine | None
    on: PowerUp | None
    since: str
    discharged: str
    declined: tuple[str, ...] = ()


def marks(order: Any) -> Marks | None:
    """The marks of an open order; None where a page is about no order, or about one that has ended."""
    if not isinstance(order, RepairOrder) or not order.is_open:
        return None
    barred, on = power.do_not_energise(order.id), power.powered(order.id)
    return Marks(barred, on, power.clock_time(on.since) if on else "", "" if on else gates.shown_discharged(order),
                 gates.hazards_declined(order))
