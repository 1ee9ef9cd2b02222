"""Whether hands were in the amp since something of a run was entered: what was read on another amp than this one proves nothing."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.orders import chassis
from app.orders.models import ChassisOpening, RepairOrder
from app.parts import queries as parts
from app.parts.rules import PartKind
from app.powerup.models import PowerUpRun
from app.powerup.rules.course import Halt
from app.removals import queries as removals
from app.removals.rules import Kind
from app.request_cache import cached_until_write

# Acts that a run is made of: valves go back in on the way, what is discharged is shown so, pieces are counted.
WITHIN_A_RUN = ("the supply was discharged", "a step of the way back was done", "pieces were counted", "it was passed on open")
VALVES = (Kind.VALVE, Kind.OUTPUT_VALVE, Kind.VALVE_RECTIFIER)


@cached_until_write
def openings(run: PowerUpRun) -> list[ChassisOpening]:
    """Every act since the run began that put hands to parts or wiring, oldest first. A valve in its socket is none."""
    found = [one for one in chassis.openings_since(run.order_id, run.started_at) if one.why not in WITHIN_A_RUN]
    if not found:
        return []
    part_of_it = _part_of_a_run(session().get_one(RepairOrder, run.order_id), run)
    return [one for one in found if (one.why, one.at) not in part_of_it]


def _part_of_a_run(order: RepairOrder, run: PowerUpRun) -> set[tuple[str, datetime]]:
    """Valves that went out or in, and what was off before the run began and went back on in it, such as a cover."""
    found = {("a part was fitted", one.fitted_at) for one in parts.fitted(order) if one.kind is PartKind.VALVE and one.fitted_at}
    for one in removals.of_order(order):
        if one.kind in VALVES:
            found.add(("a removal was recorded", one.removed_at))
        if one.ended_as and one.ended_at and (one.kind in VALVES or one.removed_at < run.started_at):
            found.add((f"a removal was {one.ended_as.word}", one.ended_at))
    return found


def in_the_run(run: PowerUpRun) -> list[ChassisOpening]:
    """Those until the run ended."""
    return [one for one in openings(run) if run.ended_at is None or one.at <= run.ended_at]


def taken_back(run: PowerUpRun) -> tuple[Halt, ...]:
    """What they take back of the run: everything that was entered before them."""
    last = [max((entry.id for entry in run.entries if entry.at < one.at), default=0) for one in in_the_run(run)]
    return tuple(Halt(0, entry_id, True, 0) for entry_id in last)
