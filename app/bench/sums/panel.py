"""The sums kept for an order, for its page."""

from __future__ import annotations

from typing import Any

from app.bench.sums import queries
from app.bench.sums.sections import SUMS
from app.orders.models import RepairOrder

SHOWN = 5


def values(order: RepairOrder) -> dict[str, Any]:
    """The newest few, and how many there are."""
    kept = queries.kept(order_id=order.id, size=SHOWN)
    total = queries.count(order_id=order.id) if len(kept) == SHOWN else len(kept)
    return {"kept": kept, "total": total, "sums": SUMS}
