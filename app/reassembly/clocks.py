"""What runs by the clock on the way back."""

from __future__ import annotations

from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.reassembly.queries.way import records_of


def dried(order: RepairOrder) -> list[Clock]:
    """What was glued, washed or painted is dry."""
    return [Clock(record.dries_until, "What dries or cures on the way back is ready", "reassembly.page", (("order_id", order.id),))
            for record in records_of(order) if record.dries_until]
