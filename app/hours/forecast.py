"""How each order's hours stand and when it is likely to be finished, kept beside its standing with every write to it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from statistics import NormalDist
from typing import Any

import sqlalchemy as sa
from flask import current_app
from sqlalchemy.orm import Session, selectinload

from app.estimating.errors import EstimateError
from app.estimating.history import LogNormal
from app.estimating.queue import Finish, Task, finish_dates
from app.hours.models import OrderOutlook
from app.hours.queries.calendar import shop_days
from app.hours.queries.outlook import OrderHours, order_hours
from app.hours.queries.tasks import tasks_of
from app.hours.queries.work import span_of
from app.hours.rules.timing import spent
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.parts import queries as parts
from app.parts.rules import PartState
from app.shop.queries import the_shop

LONGEST_QUEUE = 150  # orders that are simulated: those with the nearest promises
STEPS = 24_000  # orders times rounds, so that a save stays a save however long the queue is
FEWEST, MOST = 60, 400  # rounds
Z80 = NormalDist().inv_cdf(0.8)
_TABLE: Any = OrderOutlook.__table__
# What the queue is simulated from. Whatever else changes leaves every day where it is.
OF_THE_QUEUE = ("queue_median_hours", "queue_log_sd", "unattended_hours", "part_on", "waits_without_day")


def follow(current: Session, order_ids: list[int], now: datetime) -> None:
    """Before a commit: renew the rows of these orders, and simulate the queue if one of them changed what it is simulated from."""
    if not order_ids:
        return
    found = current.scalars(sa.select(RepairOrder).where(RepairOrder.id.in_(order_ids))
                            .options(selectinload(RepairOrder.amp))).all()
    rows = current.execute(sa.select(_TABLE).where(_TABLE.c.order_id.in_(order_ids))).mappings()
    there: dict[int, sa.RowMapping] = {row["order_id"]: row for row in rows}
    changed = False
    for order in found:
        fresh = facts(order, now)
        if fresh is not None:
            changed |= _keep(current, order.id, fresh, there.get(order.id))
    if changed:
        simulate(current, now)


def facts(order: RepairOrder, now: datetime) -> dict[str, Any] | None:
    """What a row says of an order; None while nothing is agreed, planned or worked."""
    if not order.is_open:
        return None if not tasks_of(order) else {**_NOTHING, "as_of": now}
    if not tasks_of(order) and authority.ceiling(order.id) is None:
        return None
    hours = order_hours(order, now)
    entries = [entry for piece in hours.counted for entry in piece.entries]
    ended = [span_of(entry) for entry in entries if entry.stopped_at is not None]
    median, spread = _rest(hours)
    part_on, without_day = _parts(order)
    unknown = "" if hours.answered else "nothing is agreed for the repair yet"
    return {"spent_hours": spent(ended, now), "to_come_hours": hours.bar.to_come, "p50_hours": hours.bar.p50,
            "running_since": [entry.started_at.isoformat() for entry in entries if entry.stopped_at is None],
            "p80_hours": hours.bar.p80, "ceiling_hours": hours.bar.ceiling, "queue_median_hours": median, "queue_log_sd": spread,
            "unattended_hours": _unattended(order, hours), "part_on": part_on, "waits_without_day": unknown or without_day,
            "as_of": now}


_NOTHING: Mapping[str, Any] = {
    "spent_hours": 0.0, "running_since": [], "to_come_hours": 0.0, "p50_hours": 0.0, "p80_hours": 0.0, "ceiling_hours": None,
    "queue_median_hours": 0.0, "queue_log_sd": 0.0, "unattended_hours": 0.0, "part_on": None, "waits_without_day": ""}


def simulate(current: Session, now: datetime) -> dict[int, Finish]:
    """Work the open orders off in the order of their promises and keep the day on which each is likely to be finished."""
    waiting = current.execute(
        sa.select(_TABLE, RepairOrder.promised_on).join(RepairOrder, RepairOrder.id == _TABLE.c.order_id)
        .where(RepairOrder.ended_as.is_(None), _TABLE.c.waits_without_day == "",
               (_TABLE.c.queue_median_hours > 0) | (_TABLE.c.unattended_hours > 0))
        .order_by(RepairOrder.promised_on.is_(None), RepairOrder.promised_on, RepairOrder.number)
        .limit(LONGEST_QUEUE)).mappings().all()
    found = _finished(waiting, now)
    current.execute(sa.update(_TABLE).where(_TABLE.c.finish_p50.is_not(None)).values(
        finish_p50=None, finish_p80=None, finish_p90=None, late_share=None, simulated_at=now))
    for order_id, finish in found.items():
        current.execute(sa.update(_TABLE).where(_TABLE.c.order_id == order_id).values(
            finish_p50=finish.dates.p50, finish_p80=finish.dates.p80, finish_p90=finish.dates.p90, late_share=finish.late,
            simulated_at=now))
    return found


def _finished(waiting: Any, now: datetime) -> dict[int, Finish]:
    if not waiting:
        return {}
    days = shop_days(now)
    jobs = {str(row["order_id"]): [_job(row)] for row in waiting}
    try:
        found = finish_dates(
            jobs, today=days.today, hours_per_day=days.hours_per_day, closed=days.closed,
            parts_eta={f"part-{row['order_id']}": row["part_on"] for row in waiting if row["part_on"]},
            by={str(row["order_id"]): row["promised_on"] for row in waiting if row["promised_on"]},
            simulations=min(max(STEPS // len(jobs), FEWEST), MOST))
    except EstimateError as wrong:  # more work than a calendar holds: no day is better than a wrong one
        current_app.logger.warning("No day can be told for the queue: %s", wrong)
        return {}
    return {int(name): finish for name, finish in found.items()}


def _job(row: sa.RowMapping) -> Task:
    """All that is left of one order: it begins when its last part is there, and what dries or soaks follows."""
    name, median = str(row["order_id"]), row["queue_median_hours"]
    estimate = LogNormal(median, row["queue_log_sd"]) if median > 0 else 0.0
    return Task(name, estimate, needs=(f"part-{name}",) if row["part_on"] else (), unattended_hours=row["unattended_hours"])


def _rest(hours: OrderHours) -> tuple[float, float]:
    """Median and spread of the hours still to come, as a log-normal."""
    median, high = hours.ends.p50 - hours.bar.spent, hours.ends.p80 - hours.bar.spent
    if median <= 1e-6:
        return 0.0, 0.0
    return median, min(max(math.log(high / median) / Z80, 0.0), 5.0)


def _unattended(order: RepairOrder, hours: OrderHours) -> float:
    own = sum(piece.task.unattended_hours for piece in hours.counted if piece.task is not None and not piece.finished)
    to_soak = hours.answered and IN_ORDER.index(order.stage) <= IN_ORDER.index(Stage.SAFETY_TEST)
    return own + (the_shop().soak_minutes / 60 if to_soak else 0.0)


def _parts(order: RepairOrder) -> tuple[Any, str]:
    """When the last part is expected, and which one nobody expects on any day."""
    coming = [one for one in parts.called_for(order) if one.state in (PartState.NEEDED, PartState.ORDERED)]
    without = next((one.title for one in coming if one.expected_on is None), "")
    unwritten = parts.lines_without_parts(order)
    if unwritten:
        return None, f"parts are not recorded yet for: {unwritten[0].what}"
    if without:
        return None, f"{without} has no expected day"
    return max((one.expected_on for one in coming if one.expected_on), default=None), ""


def _keep(current: Session, order_id: int, fresh: dict[str, Any], there: sa.RowMapping | None) -> bool:
    """Whether something that the queue is simulated from changed."""
    if there is None:
        current.execute(sa.insert(_TABLE).values(order_id=order_id, **fresh))
        return True
    if any(there[name] != value for name, value in fresh.items() if name != "as_of"):
        current.execute(sa.update(_TABLE).where(_TABLE.c.order_id == order_id).values(**fresh))
    return any(there[name] != fresh[name] for name in OF_THE_QUEUE)


