"""What runs by the clock while an amp waits to be collected."""

from __future__ import annotations

from datetime import timedelta

from app.handover import queries
from app.handover.rules import earliest
from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.orders.standing import after


def notice_over(order: RepairOrder) -> list[Clock]:
    """The notice period has passed."""
    sent = queries.counting_notices(order)
    over = earliest([one.given for one in sent], sent[-1].waiting) if sent else None
    if over is None:
        return []
    return [Clock(after(over - timedelta(days=1)), "Notice period over", "handover.uncollected", (("order_id", order.id),))]
