"""What a measurement on the way back is held against; the earth proof's limit is that of the safety profile, handed in."""

from __future__ import annotations

from collections.abc import Callable

from app.measuring.models import Reading
from app.measuring.queries import standing_readings
from app.measuring.rules import Verdict
from app.orders.models import RepairOrder
from app.orders.power import powered
from app.reassembly.queries.way import ReassemblyState
from app.reassembly.rules import AT_EACH_OUTPUT_VALVE, LIMITS, Limit
from app.removals.rules import Kind

EarthLimit = Callable[[RepairOrder], tuple[float, str] | None]


def _none(order: RepairOrder) -> tuple[float, str] | None:
    return None


_earth_limit: EarthLimit = _none


def use(source: EarthLimit) -> None:
    """Ask this for the greatest earth resistance, ohms, and what it rests on; None where no profile is in force."""
    global _earth_limit  # noqa: PLW0603 - this room comes before the safety test: it is handed in once
    _earth_limit = source


def bench_limit(order: RepairOrder, what: str) -> Limit:
    """The limit of a measurement by its code: "PE", "ISO" or "IR"."""
    usual = LIMITS[what]
    found = _earth_limit(order) if what == "PE" else None
    return Limit(None, found[0], found[1], usual.caution) if found else usual


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
    return {point: one for point, one in found.items() if every or one.verdict is Verdict.PASS}
