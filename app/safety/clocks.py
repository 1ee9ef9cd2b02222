"""What runs by the clock at the safety test."""

from __future__ import annotations

from datetime import timedelta

from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.safety import queries


def soak_over(order: RepairOrder) -> list[Clock]:
    """The soak run has lasted as long as it must."""
    running = queries.running_soak(order)
    if running is None:
        return []
    return [Clock(running.started_at + timedelta(minutes=running.needed_minutes), "Soak run over", "safety.soak",
                  (("order_id", order.id),))]
