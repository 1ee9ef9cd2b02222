"""What comes by the clock while a timer runs: a threshold of the agreed hours, and a timer that somebody forgot."""

from __future__ import annotations

from app.hours.queries.outlook import ceiling_hours, limits
from app.hours.queries.tasks import entries_of, standing, tasks_of
from app.hours.queries.work import span_of
from app.hours.rules.outlook import Limits
from app.hours.rules.timing import asked_at, reaches, spent
from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.quote import queries as quote
from app.shop.queries import the_shop


def hours_run(order: RepairOrder) -> list[Clock]:
    """When running timers reach each threshold if they go on, and when each will be asked about."""
    entries = [one for one in standing(entries_of(order)) if not one.unattended]
    running = [one for one in entries if one.stopped_at is None]
    if not running:
        return []
    shop, here = the_shop(), (("order_id", order.id),)
    asked = [Clock(asked_at(span_of(one), shop.opening, shop.zone, shop.timer_longest_hours),
                   f"Timer of {one.person_name} still runs", "hours.page", here) for one in running]
    return asked + _thresholds(order, limits())


def _thresholds(order: RepairOrder, percents: Limits) -> list[Clock]:
    holds = ceiling_hours(order)
    if holds is None:
        return []
    answered = quote.authorisation(order) is not None
    counted = {one.id for one in tasks_of(order) if not answered or not one.role.before_the_quote}
    entries = [one for one in standing(entries_of(order)) if one.task_id in counted and not one.unattended]
    starts = [one.started_at for one in entries if one.stopped_at is None]
    if not starts:
        return []
    ended = spent([span_of(one) for one in entries if one.stopped_at is not None], starts[0])
    found = [(percents.warn_percent, "used: warning"), (percents.hold_percent, "used: hold"), (100, "used")]
    return [Clock(at, f"{percent} % of the agreed hours {words}", "hours.page", (("order_id", order.id),))
            for percent, words in found if (at := reaches(holds * percent / 100, ended, starts)) is not None]
