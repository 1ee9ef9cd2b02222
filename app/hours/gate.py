"""What the hours hold an order back for: a call, once they come near what was agreed and work is left."""

from __future__ import annotations

from app import clock
from app.errors import Missing
from app.hours.queries.outlook import call_needed, order_hours
from app.hours.queries.tasks import tasks_of
from app.hours.rules.outlook import Level
from app.orders.models import RepairOrder


def called(order: RepairOrder) -> list[Missing]:
    """The customer was called about the hours, with an answer, when the shop's thresholds asked for it."""
    if not tasks_of(order):
        return []
    hours = order_hours(order, clock.now())
    if not call_needed(order, hours):
        return []
    return [Missing(f"Call {order.authority.name} about the hours. {hours.bar.limit_words}", "hours.call",
                    (("order_id", order.id),),
                    holds=hours.bar.level is not Level.WARN)]
