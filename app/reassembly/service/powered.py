"""Proofs with the mains on: read at each point against a stated expectation, and dead again before hands go in.

Voltages kill: these stages are for a licensed or instructed person, and local rules govern. Order of stages as practitioners
publish it (from memory).
"""

from __future__ import annotations

from datetime import datetime

from app.discharge import queries as discharge
from app.errors import BadInput, RuleBroken
from app.journal.service import Actor
from app.measuring.models import Instrument, Reading
from app.measuring.service.readings import Taken, take
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.reassembly.models import StepRecord
from app.reassembly.queries.limits import passed_at, points_of, say_point
from app.reassembly.queries.way import ReassemblyState, way_back
from app.reassembly.rules import POWERED, unmet_predecessors
from app.reassembly.service.steps import mark_done, must_be_in_order, must_be_planned


def read_stage(order: RepairOrder, step: str, *, point: str, typed: str, instrument: Instrument, lower: float | None,
               upper: float | None, basis: str, zero_is_real: bool = False, by: Actor, now: datetime) -> Reading:
    """One reading of a stage, in that stage's unit, against what it should read and what that rests on.

    The stage is done when every point that it names has passed since the amp was switched on; one that names none is finished
    by hand, see `finish_stage`. BadInput without an expectation.
    """
    way = _live(order, step, now)
    point = " ".join(point.split())
    if not point:
        raise BadInput("Enter where it was read, for example pin 5 of V4.", "point")
    if lower is None and upper is None:
        raise BadInput("Enter what it should read at least, at most, or both.", "lower")
    if not basis.strip():
        raise BadInput("Enter what the expectation rests on: the drawing, a sum, the valve’s data.", "basis")
    quantity = POWERED[way.origins[step][0]]
    taken = Taken(point=say_point(way, step, point), quantity=quantity, typed=typed, instrument=instrument, lower=lower,
                  upper=upper, basis=basis.strip(), zero_is_real=zero_is_real)
    reading = take(order, taken, by=by, now=now)
    named = points_of(way, step)
    if reading.passed and named and all(one in passed_at(way, step) or one == point for one in named):
        mark_done(way, step, reading_id=reading.id, by=by, now=now)
    return reading


def finish_stage(order: RepairOrder, step: str, *, by: Actor, now: datetime) -> StepRecord:
    """Everything of a stage that names no points of its own has been read, and the last reading at each point passed."""
    way = _live(order, step, now)
    if step in way.records:
        return way.records[step]
    if named := [one for one in points_of(way, step) if one not in passed_at(way, step)]:
        raise RuleBroken(f"Still to be read, and to pass: {', '.join(named)}.")
    passed = passed_at(way, step, every=True)
    if not passed:
        raise RuleBroken(f"{way.label(step)}: enter a reading first.")
    if failed := [point for point, reading in passed.items() if not reading.passed]:
        raise RuleBroken(f"No pass at {', '.join(failed)}. Switch off, find out why, and read again.")
    return mark_done(way, step, reading_id=list(passed.values())[-1].id, by=by, now=now)


def prove_dead(order: RepairOrder, step: str, *, by: Actor, now: datetime) -> StepRecord:
    """Off, discharged and measured: taken from the discharge record, which ends with every later time on power."""
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    must_be_planned(way, step)
    if way.kind(step) != "dead":
        raise RuleBroken(f"{way.label(step)} is no discharge.")
    if step in way.records:
        return way.records[step]
    must_be_in_order(way, step, unmet_predecessors(step, way.steps.values(), way.done), "", now)
    if not discharge.is_discharged(order):
        raise RuleBroken("Discharge it, measure, and record the discharge first.")
    return mark_done(way, step, by=by, now=now)


def _live(order: RepairOrder, step: str, now: datetime) -> ReassemblyState:
    must_be_open(order)
    power.must_not_be_barred(order)
    way = way_back(order, planned=False)
    must_be_planned(way, step)
    if way.kind(step) != "powered":
        raise RuleBroken(f"{way.label(step)} is no stage with the mains on.")
    must_be_in_order(way, step, unmet_predecessors(step, way.steps.values(), way.done), "", now)
    if power.powered(order.id) is None:
        raise RuleBroken("Record the power-up first.")
    return way
