"""The label and acknowledgement of an amp that leaves unrepaired."""

from __future__ import annotations

from typing import Any

from app.findings import queries as findings_queries
from app.findings.rules.life import Status
from app.handover import queries as handover
from app.intake.queries import sheets as sheets_queries
from app.orders.models import RepairOrder


def values(order: RepairOrder, _about: int = 0) -> dict[str, Any]:
    """The warning, the open hazards, and the acknowledgement. Nothing before somebody has written why it leaves."""
    written = handover.unrepaired(order.id)
    if written is None:
        return {}
    open_ = [one for one in findings_queries.gravest_first(findings_queries.findings_of(order))
             if one.status not in (Status.WITHDRAWN, Status.PROVED)]
    return {"written": written, "text": handover.text_to_acknowledge(order), "findings": open_,
            "told": sheets_queries.complaint(order.id), "signed": handover.acknowledgement(order.id)}
