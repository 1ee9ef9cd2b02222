"""What of an incident comes by the clock."""

from __future__ import annotations

from app.incidents import queries
from app.orders.gates import Clock
from app.orders.models import RepairOrder


def report_due(order: RepairOrder) -> list[Clock]:
    """The time for a report, as the law of the place counts it, is over."""
    return [Clock(at, f"Report of incident {number} due", "incidents.one", (("incident_id", number),))
            for number, at in queries.dues_of(order.id)]
