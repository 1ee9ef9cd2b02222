"""The drawings of its model on the order's page."""

from __future__ import annotations

from typing import Any

from app.drawings import queries
from app.orders.models import RepairOrder


def values(order: RepairOrder) -> dict[str, Any]:
    """The drawings of the order's model."""
    return {"drawings": queries.of_model(order.amp.maker, order.amp.model)}
