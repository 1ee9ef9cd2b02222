"""The readings' sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.measuring.queries import as_found_as_left
from app.measuring.rules import Verdict
from app.orders.models import RepairOrder


def values(order: RepairOrder) -> dict[str, Any]:
    """How many points were read, and those of which the latest reading is no pass."""
    rows = as_found_as_left(order)
    read = [row for row in rows if row.latest is not None]
    off = [row.latest for row in read if row.latest and row.latest.verdict in (Verdict.FAIL, Verdict.UNDECIDED)]
    return {"points": len(rows), "read": len(read), "off": off}
