"""The drawings of its model on the order's page."""

from __future__ import annotations

from typing import Any

from app.drawings import queries
from app.orders.models import RepairOrder
from app.orders.stages import Stage


def values(order: RepairOrder) -> dict[str, Any]:
    """The drawings of the order's model; None once the bench is done with it: then a link leads to them, and nothing is asked."""
    return {"drawings": None if order.stage is Stage.RETURN else queries.of_model(order.amp.maker, order.amp.model)}
