"""What must hold before an amp leaves the strip-down: everything that is off can be found again."""

from __future__ import annotations

from app.errors import Missing
from app.orders.models import RepairOrder
from app.removals import queries


def everything_is_tagged(order: RepairOrder) -> list[Missing]:
    """Every removal lies in a named bag or tray, or stays on its loom. What has ended needs no tag any more."""
    return [Missing(f"{line.removal.title}: {line.untagged}.", "removals.one",
                    (("order_id", order.id), ("removal_id", line.removal.id)))
            for line in queries.lines(order) if line.untagged and line.removal.ended_at is None]
