"""What must hold before the bench powers an amp."""

from __future__ import annotations

from app.errors import RuleBroken
from app.intake.queries import sheets as sheets_queries
from app.orders.models import RepairOrder


def must_not_be_quarantined(order: RepairOrder) -> None:
    """Nothing is switched on while it is marked “do not energise”."""
    standing = sheets_queries.quarantine(order.id)
    if standing is not None:
        raise RuleBroken(f"This amp is marked “do not energise”: {standing.reason}. Deal with the danger and lift that first.")
