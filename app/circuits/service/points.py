"""The nodes of a sheet as test points of the order."""

from __future__ import annotations

from datetime import datetime

from app.circuits import queries
from app.circuits.models import AmpSheet
from app.circuits.rules.compare import Row
from app.journal.service import Actor
from app.measuring.models import Point
from app.measuring.rules import Quantity
from app.measuring.service import points
from app.measuring.service.points import BASIS_LONGEST
from app.measuring.spec import PointFacts
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


def lay_out(order: RepairOrder, sheet: AmpSheet, *, by: Actor, now: datetime) -> list[Point]:
    """A test point for every node of which something says what it should read; those that stand get today's values.

    Readings already taken keep what they were judged by. A point that was withdrawn stays so.
    """
    must_be_open(order)
    found = [points.at_node(order, row.node, facts, by=by, now=now)
             for row in queries.compared(order, sheet) if (facts := _facts(row)) is not None]
    return [point for point in found if point is not None]


def _facts(row: Row) -> PointFacts | None:
    speaks = row.speaks
    if speaks is None:
        return None
    return PointFacts(row.node, Quantity(row.unit), float(f"{speaks.now.value:.5g}"), float(f"{speaks.now.low:.5g}"),
                      float(f"{speaks.now.high:.5g}"), speaks.words[:BASIS_LONGEST])
