"""What runs by the clock in the strip-down."""

from __future__ import annotations

from app.findings import queries
from app.orders.gates import Clock
from app.orders.models import RepairOrder


def bake_out_over(order: RepairOrder) -> list[Clock]:
    """A board that dries has had its hours."""
    return [Clock(bake.due_at, f"Bake-out of the board of {bake.finding.called} over", "findings.end_bake",
                  (("order_id", order.id), ("finding_id", bake.finding_id), ("bake_id", bake.id)))
            for bake in queries.bake_outs(order, running=True)]
