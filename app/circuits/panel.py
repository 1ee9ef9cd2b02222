"""The amp's sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder


def values(_order: RepairOrder) -> dict[str, Any]:
    """Nothing: the order's page only leads to the sheet, and neither asks nor calculates anything for it."""
    return {}
