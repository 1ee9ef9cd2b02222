"""What must hold before an amp leaves the strip-down."""

from __future__ import annotations

from app.errors import Missing
from app.findings import queries
from app.findings.rules.life import Status
from app.orders.models import RepairOrder


def findings_decided(order: RepairOrder) -> list[Missing]:
    """Every finding says whom it could hurt and what becomes of it."""
    missing = []
    for finding in queries.findings_of(order):
        if finding.status is Status.WITHDRAWN:
            continue
        here = (("order_id", order.id), ("finding_id", finding.id))
        if finding.risk is None:
            missing.append(Missing(f"{finding.called}: enter the injury severity, or “nobody”.",
                                   "findings.finding", here))
        if finding.disposition is None:
            missing.append(Missing(f"{finding.called}: choose a disposition.", "findings.finding", here))
    return missing
