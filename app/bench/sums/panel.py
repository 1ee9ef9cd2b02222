"""The sums kept for an order, for its page."""

from __future__ import annotations

from typing import Any

from app.bench.sums import queries
from app.bench.sums.sections import SUMS
from app.orders.models import RepairOrder


def values(order: RepairOrder) -> dict[str, Any]:
    """The newest few, and how many there are."""
    return {"kept": queries.kept(order_id=order.id, size=5), "total": queries.count(order_id=order.id), "sums": SUMS}
