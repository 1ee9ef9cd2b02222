"""The parts' sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.parts import queries


def values(order: RepairOrder) -> dict[str, Any]:
    """Every part that has not been dropped, and the agreed lines whose parts are still to be written down."""
    parts = queries.parts_of(order)
    return {"parts": [part for part in parts if part.dropped_at is None],
            "dropped": sum(part.dropped_at is not None for part in parts),
            "again": len(queries.to_get_again(order)), "unwritten": queries.lines_without_parts(order),
            "charged_minor": queries.total_charged(order)}
