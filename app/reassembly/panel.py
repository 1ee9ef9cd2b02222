"""What the order's page says about the way back."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.reassembly.queries.way import way_back
from app.reassembly.queries.work import balance_of


def values(order: RepairOrder) -> dict[str, Any]:
    """How far it is, what comes next, and whether the ledger balances."""
    way = way_back(order, planned=False)
    return {"steps": len(way.steps), "done": len(way.done), "problem": way.problem,
            "next": way.left[0].label if way.left else "", "weighed": balance_of(order), "counted": way.counted_whole}
