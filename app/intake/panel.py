"""The counter's sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.intake.queries import sheets as sheets_queries
from app.intake.summary import sheets_of
from app.orders import power
from app.orders.models import RepairOrder

SHOWN = ("people", "condition", "accessories", "money", "place")


def values(order: RepairOrder) -> dict[str, Any]:
    """What must be kept, the quarantine, and the sheets in a line each."""
    told = sheets_queries.complaint(order.id)
    return {"keep": told.keep if told else "", "leave_alone": told.leave_alone if told else "",
            "quarantine": power.do_not_energise(order.id),
            "sheets": sheets_of(order, {}, lines=True, only=SHOWN)}
