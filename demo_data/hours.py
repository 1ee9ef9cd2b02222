"""Hours in the demo: timers within opening hours, a call where they come near what was agreed, one timer that was forgotten."""

from __future__ import annotations

from datetime import datetime, timedelta

from app import clock
from app.db import session
from app.hours.queries.outlook import call_needed, ceiling_hours, order_hours
from app.hours.queries.work import pieces
from app.hours.rules.timing import Span
from app.hours.rules.words import Called, Role, WorkKey
from app.hours.service import calls, tasks, timers
from app.journal.service import Actor
from app.orders import authority
from app.orders.models import RepairOrder
from app.shop.queries import the_shop
from demo_data.counter import Stage

ALLOWED = "Odile, at the bench"
STRIP_DOWN, WAY_BACK = WorkKey(Role.STRIP_DOWN), WorkKey(Role.WAY_BACK)
TURNED_OUT = (0.8, 1.1, 0.95, 1.2, 0.9)  # hours that an item took over those it was quoted at, one after another
LEAST = timedelta(minutes=30)


def strip_down(order: RepairOrder, stage: Stage, *, whole: bool) -> None:
    """Timed against what was agreed for diagnosis."""
    work(order, STRIP_DOWN, stage, (ceiling_hours(order) or 1.0) * 0.55)
    if whole:
        tasks.finish(order, STRIP_DOWN, by=stage.crew.bench, now=stage.now)
        session().flush()


def near_the_limit(order: RepairOrder, stage: Stage) -> None:
    """More hidden work than anybody thought: 78 % of what was agreed is used, and the order asks for a call."""
    hours = order_hours(order, stage.now)
    short = (hours.bar.ceiling or 0.0) * 0.78 - hours.bar.spent
    if short > 0:
        way_back(order, stage, short)


def items(order: RepairOrder, stage: Stage, *, leave: int = 0) -> None:
    """Every agreed item, in turn by either technician; `leave` stay open."""
    open_items = [one for one in pieces(order) if one.key.role is Role.ITEM and not one.finished]
    for number, one in enumerate(open_items[: len(open_items) - leave]):
        ratio = TURNED_OUT[(order.number + number) % len(TURNED_OUT)]
        work(order, one.key, stage, (one.hours.likely if one.hours else 0.5) * ratio)
        tasks.finish(order, one.key, by=stage.crew.bench, now=stage.now)
        session().flush()


def way_back(order: RepairOrder, stage: Stage, hours: float) -> None:
    """Some of the time that putting it back takes."""
    if any(one.key == WAY_BACK for one in pieces(order)):
        work(order, WAY_BACK, stage, hours)


def called(order: RepairOrder, stage: Stage) -> None:
    """The counter calls before the agreed hours are used up, and the customer agrees to more."""
    while call_needed(order, order_hours(order, stage.now)):
        more = (authority.ceiling(order.id) or 0) * 13 // 1000 * 100
        calls.call(order, calls.Call(Called.MORE, order.authority.phone, more, "Go on, I want it right."), by=stage.crew.counter,
                   now=stage.later(minutes=5))
        session().flush()


def forgotten(order: RepairOrder, stage: Stage) -> None:
    """A timer ran on over closing time, and the next morning it is corrected with the reason."""
    by = stage.crew.second
    _open_hours(stage)
    begun = stage.now
    entry = timers.start(order, STRIP_DOWN, by=by, now=begun, allowed_by=ALLOWED)
    session().flush()
    timers.correct(order, entry, Span(begun, begun + timedelta(minutes=25)), "Forgot to stop it: the tablet was put away at noon.",
                   by=by, now=stage.later(hours=20))
    session().flush()


def running(order: RepairOrder, by: Actor) -> None:
    """What the bench is at while the demo is opened."""
    found = next(one for one in pieces(order) if not one.finished and not one.key.role.before_the_quote)
    timers.start(order, found.key, by=by, now=clock.now() - timedelta(minutes=23), allowed_by=ALLOWED)
    session().flush()


def work(order: RepairOrder, key: WorkKey, stage: Stage, hours: float, by: Actor | None = None) -> None:
    """So many hours on one piece of work, in as many sittings as the opening hours make of it."""
    who, left = by or stage.crew.bench, timedelta(hours=hours)
    while left > timedelta(0):
        until = _open_hours(stage)
        sitting = min(left, until - stage.now)
        entry = timers.start(order, key, by=who, now=stage.now, allowed_by=ALLOWED)
        session().flush()
        stage.now += sitting
        timers.stop(who.person_id or 0, seen=entry.id, by=who, now=stage.now)
        session().flush()
        left -= sitting


def _open_hours(stage: Stage) -> datetime:
    """Go on to a moment at which the shop is open for a while; when it closes after that."""
    shop = the_shop()
    while True:
        closes = shop.opening.closes_after(stage.now, shop.zone)
        if closes is not None and closes - stage.now >= LEAST:
            return closes
        stage.later(minutes=15)
