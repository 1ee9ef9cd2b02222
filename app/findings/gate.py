"""What must hold before an amp leaves the strip-down."""

from __future__ import annotations

from app.errors import Missing
from app.findings import queries
from app.findings.rules.life import Status
from app.orders.models import RepairOrder
from app.orders.stages import Stage


def made_safe(order: RepairOrder) -> list[Missing]:
    """Discharged and measured. The record must stand while the amp is stripped; later it is enough that it was made."""
    here = (("order_id", order.id),)
    if queries.made_safe(order) is not None:
        return []
    past = queries.times_made_safe(order)
    if not past:
        return [Missing("Discharge the supply, measure it and record the discharge.", "findings.made_safe", here)]
    if order.stage is Stage.TEARDOWN:
        return [Missing("The amp was powered again: discharge and measure it once more.", "findings.made_safe", here)]
    return []


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
