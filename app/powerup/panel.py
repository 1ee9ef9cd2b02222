"""The first power-up on the order's page."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.powerup import queries


def values(order: RepairOrder) -> dict[str, Any]:
    """The newest run; how far it is stands on its own page and among what is missing."""
    return {"run": queries.run_of(order.id)}
