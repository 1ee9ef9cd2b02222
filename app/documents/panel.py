"""The papers' sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.documents import queries
from app.orders.models import RepairOrder


def values(order: RepairOrder) -> dict[str, Any]:
    """Every paper that was issued and still counts."""
    papers = queries.of_order(order.id)
    old = {paper.replaces_id for paper in papers}
    return {"issued": [paper for paper in papers if paper.id not in old]}
