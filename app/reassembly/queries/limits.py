"""What a measurement on the way back is held against; for earth and insulation that of the safety profile, handed in."""

from __future__ import annotations

from collections.abc import Callable

from app.measuring.models import Reading
from app.measuring.queries import standing_readings
from app.orders.models import RepairOrder
from app.orders.power import powered
from app.reassembly.queries.way import ReassemblyState
from app.reassembly.rules import AT_EACH_OUTPUT_VALVE, EARTHS, LIMITS, Limit
from app.removals.rules import Kind

EarthLimit = Callable[[RepairOrder], tuple[float, str] | None]
InsulationLimit = Callable[[RepairOrder], tuple[float, float | None, str] | None]


def _none(order: RepairOrder) -> None:
    return None


_earth_limit: EarthLimit = _none
_insulation_limit: InsulationLimit = _none


def use(earth: EarthLimit, insulation: InsulationLimit) -> None:
    """Ask these for what the profile in force says, and what that rests on; None where none is.

    `earth`: the greatest resistance, ohms. `insulation`: the least resistance, ohms, and the volts it is tested at.
    """
    global _earth_limit, _insulation_limit  # noqa: PLW0603 - this room comes before the safety test: they are handed in once
    _earth_limit, _insulation_limit = earth, insulation


def bench_limit(order: RepairOrder, what: str) -> Limit:
    """The limit of a measurement by its code, one of MEASURED."""
    usual = LIMITS[what]
    if what in EARTHS and (earth := _earth_limit(order)):
        return Limit(None, earth[0], earth[1], usual.caution)
    if what == "IR" and (insulation := _insulation_limit(order)):
        return Limit(insulation[0], None, insulation[2], usual.caution)
    return usual


def ordinary_volts(order: RepairOrder) -> float | None:
    """At how many volts the profile in force tests an insulation where nothing would conduct; None where it names none."""
    found = _insulation_limit(order)
    return found[1] if found else None


def last_reading(way: ReassemblyState, step: str) -> Reading | None:
    """The newest reading that was taken for a step and stands; None before the first."""
    taken = [one for one in standing_readings(way.order) if one.point == way.label(step)]
    return max(taken, key=lambda one: one.id, default=None)


def points_of(way: ReassemblyState, step: str) -> list[str]:
    """What a stage must be read at: each output valve for bias and current; empty where the drawing says it."""
    if way.origins[step][0] not in AT_EACH_OUTPUT_VALVE:
        return []
    return [one.mark for one in way.removals.values() if one.kind is Kind.OUTPUT_VALVE and one.fate.goes_back]


def say_point(way: ReassemblyState, step: str, point: str) -> str:
    """The name of a reading of a stage: 'Measure the HT, unloaded: reservoir'."""
    return f"{way.label(step)}: {point}"


def passed_at(way: ReassemblyState, step: str, *, every: bool = False) -> dict[str, Reading]:
    """Point → its newest reading since the amp was last switched on, those that passed; `every`: whatever they say."""
    on, start = powered(way.order.id), say_point(way, step, "")
    found: dict[str, Reading] = {}
    for one in sorted(standing_readings(way.order), key=lambda one: one.id):
        if one.point.startswith(start) and (on is None or one.at >= on.since):
            found[one.point.removeprefix(start)] = one
    return {point: one for point, one in found.items() if every or one.passed}
