"""Measurements on the way back: the reading is kept whatever it says, the step is done only if it passes."""

from __future__ import annotations

from datetime import datetime

from app.errors import BadInput, RuleBroken
from app.journal.service import Actor
from app.measuring.insulation import ASKED, TESTERS, why_volts_refused
from app.measuring.models import Instrument, Reading
from app.measuring.rules import Quantity, say
from app.measuring.service.readings import Taken, take
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.reassembly.models import StepRecord
from app.reassembly.queries.fitting import fitted, to_be_out
from app.reassembly.queries.limits import bench_limit, last_reading, ordinary_volts
from app.reassembly.queries.way import way_back
from app.reassembly.rules import EXPLICABLE, limit_for, unmet_predecessors
from app.reassembly.service.steps import mark_done, must_be_in_order, must_be_planned
from app.removals.rules import fold


def measure(order: RepairOrder, step: str, *, typed: str, instrument: Instrument, lower: float | None = None,
            upper: float | None = None, basis: str = "", zero_is_real: bool = False, level: float | None = None,
            unplugged: bool = False, by: Actor, now: datetime) -> Reading:
    """Take the reading that a step asks for, in ohms. The usual limits of that step judge it, or others with their own basis.

    The verdict is computed from reading, limits and the meter's uncertainty; only a pass makes the step done. An insulation
    test needs its tester, its volts (`level`) by what is fitted, and `unplugged`: valves and boards of semiconductors are out.
    """
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    must_be_planned(way, step)
    if way.kind(step) != "measured":
        raise RuleBroken(f"{way.label(step)} is no measurement.")
    must_be_in_order(way, step, unmet_predecessors(step, way.steps.values(), way.done), "", now)
    what = way.origins[step][0]
    limit = limit_for(what, bench_limit(order, what), lower, upper, basis)
    condition = _insulated(order, instrument, level, unplugged) if what == "IR" else ""
    reading = take(order, Taken(point=way.label(step), quantity=Quantity.OHM, typed=typed, instrument=instrument, lower=limit.lower,
                                upper=limit.upper, basis=limit.basis, condition=condition, zero_is_real=zero_is_real),
                   by=by, now=now, proves=True)
    if reading.passed and step not in way.records:
        mark_done(way, step, reading_id=reading.id, by=by, now=now)
    return reading


def _insulated(order: RepairOrder, instrument: Instrument, level: float | None, unplugged: bool) -> str:
    """How an insulation test was done, in words. BadInput where it would prove nothing, or harm what cannot bear it."""
    if instrument.kind not in TESTERS:
        raise BadInput(f"{instrument.name} is a {instrument.kind.value}: it puts a few volts on the insulation and proves nothing. "
                       f"Choose an {TESTERS[0].value} or an {TESTERS[1].value}.", "instrument")
    here = fitted(order)
    if here is None:
        raise BadInput(f"{ASKED} Answer that first.", "level")
    if why := why_volts_refused(level, ordinary=ordinary_volts(order), conducts=here.what):
        raise BadInput(why, "level")
    if not unplugged:
        named = f" ({', '.join(out)})" if (out := to_be_out(order)) else ""
        raise BadInput(f"Take the valves out, unplug boards with semiconductors{named}, and confirm it.", "unplugged")
    reduced = f"; {here.what} conducts at more" if here.what else ""
    return f"at {say(level, 'V')} DC, live and neutral joined, valves and boards with semiconductors out{reduced}"


def stand_by(order: RepairOrder, step: str, *, words: str, by: Actor, now: datetime) -> StepRecord:
    """An explained deviation: the last reading of a step is no pass, and may stand for a reason that is kept with the step.

    BadInput where it cannot be explained away: an earth or an insulation either passes or is mended.
    """
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    must_be_planned(way, step)
    if way.origins[step][0] not in EXPLICABLE:
        raise BadInput(f"{way.label(step)}: this cannot be explained away. Find the fault and measure again.", "deviation")
    if step in way.records:
        return way.records[step]
    reading, words = last_reading(way, step), fold(words)
    if reading is None:
        raise RuleBroken(f"{way.label(step)}: enter the reading first.")
    if not words:
        raise BadInput("Enter why it is acceptable.", "deviation")
    return mark_done(way, step, note=f"Deviation: {words}", reading_id=reading.id, by=by, now=now)
