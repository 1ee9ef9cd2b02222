"""The label and acknowledgement of an amp that leaves unrepaired."""

from __future__ import annotations

from typing import Any

from app.handover import queries as handover
from app.intake import queries as intake
from app.orders.models import RepairOrder
from app.teardown import queries as teardown
from app.teardown.rules.life import Status


def values(order: RepairOrder, _about: int = 0) -> dict[str, Any]:
    """The warning, the open hazards, and the acknowledgement. Nothing before somebody has written why it leaves."""
    written = handover.unrepaired(order.id)
    if written is None:
        return {}
    open_ = [one for one in teardown.gravest_first(teardown.findings_of(order))
             if one.status not in (Status.WITHDRAWN, Status.PROVED)]
    return {"written": written, "text": handover.text_to_acknowledge(order), "findings": open_,
            "told": intake.complaint(order.id), "signed": handover.acknowledgement(order.id)}
