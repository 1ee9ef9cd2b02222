"""The photos' sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.photos import queries

SHOWN = 6


def values(order: RepairOrder) -> dict[str, Any]:
    """The first few photos and how many there are."""
    photos = queries.of_order(order.id)
    return {"photos": photos[:SHOWN], "count": len(photos)}
