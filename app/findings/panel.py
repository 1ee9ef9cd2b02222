"""The strip-down's sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.discharge.queries import is_discharged
from app.findings import queries
from app.orders.models import RepairOrder


def values(order: RepairOrder) -> dict[str, Any]:
    """Whether it is safe, and the findings, gravest first."""
    findings = [finding for finding in queries.findings_of(order) if finding.withdrawn_at is None]
    return {"safe": is_discharged(order), "findings": queries.gravest_first(findings)}
