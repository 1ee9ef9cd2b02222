"""Whether hands were in the amp since something of a run was entered: what was read on another amp than this one proves nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.orders import chassis
from app.orders.models import ChassisOpening, RepairOrder
from app.parts import queries as parts
from app.parts.rules import PartKind
from app.powerup.models import PowerUpRun
from app.powerup.rules.course import Halt
from app.powerup.rules.items import split
from app.removals import queries as removals
from app.removals.rules import Kind, Outcome
from app.request_cache import cached_until_write

# Acts that a run is made of: valves go back in on the way, what is discharged is shown so, pieces are counted.
WITHIN_A_RUN = ("the supply was discharged", "a step of the way back was done", "pieces were counted", "it was passed on open")
SMALL_STEP, OUTPUT_STEP = 6, 7  # where the small and the output valves go in
BACK_IN = (Outcome.REFITTED, Outcome.REPLACED, Outcome.FITTED)
VALVES = (Kind.VALVE, Kind.OUTPUT_VALVE, Kind.VALVE_RECTIFIER)


@cached_until_write
def openings(run: PowerUpRun) -> list[ChassisOpening]:
    """Every act since the run began that put hands to parts or wiring, oldest first. Valves are told by valve_changes."""
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


@dataclass(frozen=True)
class ValveChange:
    """A valve that went out or in: when, in words, and its mark or place as it was named."""

    at: datetime
    why: str
    place: str


@cached_until_write
def valve_changes(run: PowerUpRun) -> list[ValveChange]:
    """Every valve that went out or in since the run began, oldest first."""
    order = session().get_one(RepairOrder, run.order_id)
    found = [ValveChange(one.fitted_at, "a valve was fitted", one.fitted_place) for one in parts.fitted(order)
             if one.kind is PartKind.VALVE and one.fitted_at]
    for one in removals.of_order(order):
        if one.kind in VALVES:
            found.append(ValveChange(one.removed_at, "the removal of a valve was recorded", one.mark))
            if one.ended_as in BACK_IN and one.ended_as and one.ended_at:
                found.append(ValveChange(one.ended_at, f"a valve was {one.ended_as.word}", one.mark))
    return sorted((one for one in found if one.at > run.started_at), key=lambda one: one.at)


def why_after(run: PowerUpRun, ended_at: datetime) -> str:
    """What was done to the amp after a run ended, as a clause; empty if nothing was. Another valve is another bias."""
    acts = [*((one.at, one.why) for one in openings(run)), *((one.at, one.why) for one in valve_changes(run))]
    return min((one for one in acts if one[0] > ended_at), default=(ended_at, ""))[1]


def in_the_run(run: PowerUpRun) -> list[ChassisOpening]:
    """Openings until the run ended."""
    return [one for one in openings(run) if run.ended_at is None or one.at <= run.ended_at]


def taken_back(run: PowerUpRun) -> tuple[Halt, ...]:
    """What they take back of the run: everything that was entered before them; a valve what was read with the one before it."""
    last = [max((entry.id for entry in run.entries if entry.at < one.at), default=0) for one in in_the_run(run)]
    return (*(Halt(0, entry_id, True, 0) for entry_id in last), *_by_valves(run))


def _by_valves(run: PowerUpRun) -> list[Halt]:
    """A valve goes in at its step, before it is read; one that changes afterwards is read again, the output stage always."""
    found, small = [], {mark.casefold() for mark in split(run.small)}
    for one in valve_changes(run):
        step = SMALL_STEP if one.place.casefold() in small else OUTPUT_STEP
        read = [entry for entry in run.entries if entry.at < one.at and (entry.reading or entry.round) and (
            entry.step > SMALL_STEP or entry.step == step and entry.item.casefold() == f"anode:{one.place}".casefold())]
        if read and (run.ended_at is None or one.at <= run.ended_at):
            found.append(Halt(step, max(entry.id for entry in read), True, step))
    return found
