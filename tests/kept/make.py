"""Calculations kept for an order. Call inside `with transaction():` and a request."""

from __future__ import annotations

from datetime import datetime

from app.bench.sums.sections import SUMS
from app.bench.sums.service import keep_sum
from app.bench.sums.targets import Target, offered
from app.bench.sums.work import MINE, work_out
from app.db import session
from app.kept.models import KeptSum
from app.kept.rules import KeptFigure, Purpose
from app.orders.models import RepairOrder
from tests.factories import NOW
from tests.people import BY


def kept(order: RepairOrder | None, key: str = "reservoir", *, replaces: KeptSum | None = None, now: datetime = NOW,
         **typed: str) -> KeptSum:
    """One calculation with its values; a reservoir at 330 V a leg unless told otherwise."""
    usual = {field.name: field.default for field in SUMS[key].fields}
    given = usual | ({"secondary_vrms": "330"} if key == "reservoir" else {}) | typed
    made = keep_sum(work_out(SUMS[key], given | {MINE: "yes"}), order_id=order.id if order else None, note="",
                    replaces=replaces, by=BY, now=now)
    session().flush()
    return made


def figure(one: KeptSum, key: str) -> KeptFigure:
    return next(found for found in one.figures if found.key == key)


def target(order: RepairOrder, purpose: Purpose) -> Target:
    """The first of the order that takes a figure for this."""
    return next(one for one in offered(order, parts_too=True) if one.purpose is purpose)
