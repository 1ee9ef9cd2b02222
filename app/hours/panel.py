"""The hours on the order's page."""

from __future__ import annotations

from typing import Any

from app import clock
from app.hours.queries.clock_in import my_timer
from app.hours.queries.outlook import call_needed, order_hours, row_of
from app.hours.queries.work import Piece
from app.hours.rules.words import Role
from app.orders.models import RepairOrder
from app.orders.stages import Stage

FIRST = {Stage.INTAKE: Role.DIAGNOSIS, Stage.TEARDOWN: Role.STRIP_DOWN, Stage.QUOTE: Role.STRIP_DOWN,
         Stage.REASSEMBLY: Role.WAY_BACK}
OFFERED = 3  # pieces of work that can be started from here with one tap


def values(order: RepairOrder) -> dict[str, Any]:
    """The bar, what can be started, who works on it now, and when it is likely to be finished."""
    now, mine = clock.now(), my_timer()
    hours = order_hours(order, now)
    open_pieces = [one for one in hours.pieces if not one.finished and one.agreed]
    return {"hours": hours, "now": now, "mine": mine if mine is not None and mine.order_id == order.id else None,
            "running_id": mine.entry_id if mine else 0, "likely": _likely(order, open_pieces), "call": call_needed(order, hours),
            "working": [entry for piece in hours.pieces for entry in piece.running], "outlook": row_of(order.id)}


def _likely(order: RepairOrder, pieces: list[Piece]) -> list[Piece]:
    """What is most likely begun next: that of the stage, then what was begun, then the items in their order."""
    first = FIRST.get(order.stage)
    ranked = sorted(pieces, key=lambda one: (bool(one.waits), one.key.role is not first, not one.entries,
                                             one.key.role.before_the_quote and order.stage not in (Stage.INTAKE, Stage.TEARDOWN)))
    return ranked[:OFFERED]
