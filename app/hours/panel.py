"""The hours on the order's page."""

from __future__ import annotations

from typing import Any

from app import clock
from app.hours.queries.clock_in import my_timer
from app.hours.queries.outlook import order_hours, row_of, settled
from app.hours.queries.tasks import calls_of
from app.hours.queries.work import Piece, pieces
from app.hours.rules.words import Role
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.stages import Stage

FIRST = {Stage.INTAKE: Role.DIAGNOSIS, Stage.TEARDOWN: Role.STRIP_DOWN, Stage.QUOTE: Role.STRIP_DOWN,
         Stage.REASSEMBLY: Role.WAY_BACK}
OFFERED = 3  # pieces of work that can be started from here with one tap


def values(order: RepairOrder) -> dict[str, Any]:
    """The bar as it is kept beside the standing, what can be started, who works on it now, when it is likely to be finished."""
    mine, row = my_timer(), row_of(order.id)
    every = pieces(order)
    bar = row.bar if row is not None else order_hours(order, clock.now()).bar
    if not order.is_open:
        bar = bar.ended
    asks = bar.level.asks and order.is_open and not settled(calls_of(order), bar, authority.ceiling(order.id) or 0)
    return {"bar": bar, "mine": mine if mine is not None and mine.order_id == order.id else None,
            "running_id": mine.entry_id if mine else 0, "call": asks, "outlook": row,
            "likely": _likely(order, [one for one in every if not one.finished and one.agreed]),
            "working": [entry for piece in every for entry in piece.running]}


def _likely(order: RepairOrder, pieces: list[Piece]) -> list[Piece]:
    """What is most likely begun next: that of the stage, then what was begun, then the items in their order."""
    first = FIRST.get(order.stage)
    ranked = sorted(pieces, key=lambda one: (bool(one.waits), one.key.role is not first, not one.entries,
                                             one.key.role.before_the_quote and order.stage not in (Stage.INTAKE, Stage.TEARDOWN)))
    return ranked[:OFFERED]
