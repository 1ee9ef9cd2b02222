"""The safety sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.findings import queries as findings_queries
from app.orders.models import RepairOrder
from app.safety import queries


def values(order: RepairOrder) -> dict[str, Any]:
    """The test that decides, the one that runs, the soak run and the proofs still open."""
    last = queries.last_completed(order)
    return {"last": last, "void": queries.why_void(last) if last else "", "running": queries.running_test(order),
            "soaking": queries.running_soak(order), "no_soak": queries.why_no_soak(order),
            "unproved": len(findings_queries.open_findings(order))}
