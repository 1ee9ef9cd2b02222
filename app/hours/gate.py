"""What the hours hold an order back for: a call, once they come near what was agreed and work is left; a timer that runs on it."""

from __future__ import annotations

from app import clock
from app.errors import Missing
from app.hours.queries.outlook import call_needed, order_hours
from app.hours.queries.tasks import entries_of, tasks_of
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


def stopped(order: RepairOrder) -> list[Missing]:
    """No timer runs on it when it leaves the bench: it would run on after the end of the order, where nobody can correct it."""
    here = (("order_id", order.id),)
    return [Missing(f"The unattended time of {one.task.what} still runs. End it." if one.unattended else
                    f"The timer of {one.person_name} still runs on {one.task.what}. Stop it, or correct its time.",
                    "hours.page", here)
            for one in entries_of(order) if one.stopped_at is None]
