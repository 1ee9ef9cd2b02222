"""The receipt for an amp that came in."""

from __future__ import annotations

from typing import Any

from app.intake.queries.receipt import receipt_facts
from app.orders.models import RepairOrder


def values(order: RepairOrder, _about: int = 0) -> dict[str, Any]:
    """All that the counter wrote down."""
    return {"facts": receipt_facts(order)}
