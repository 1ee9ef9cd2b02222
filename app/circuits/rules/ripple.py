"""How far the ripple of a rail may be from what it is calculated at: by the parts of its chain, and by what is drawn. Pure.

The ripple itself is that of `capacitor_input` and `filter_chain`. Its band goes by how steeply it follows each part: a reservoir's
is the charge drawn between two pulses over its farads; a resistor and a capacitor leave 1 / sqrt(1 + (w R C)^2) of it, a choke and
a capacitor 1 / (w^2 L C - 1). The current follows valves and mains as the volts of `expected` do.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from app.circuits.rules.assembled import Assembled, regulation_of
from app.circuits.rules.blocks import Block, Sheet, tolerance_of
from app.circuits.rules.supply import Rail
from app.electrics.errors import ElectricsError

LIKELY_SD = 1.96  # 95 in 100, as `expected`
LEADS_V = 0.01  # what a meter's leads pick up beside a transformer: common practice, no source
_LEAST_CHOKE = 1.5  # of w^2 L C: below it a choke and its capacitor swing, and the slopes say nothing


def band_of_ripple(vrms: float, spread: float) -> tuple[float, float, float]:
    """(low, value, high), volts: `spread` is the likely ratio to either side, as its natural logarithm."""
    low = vrms * math.exp(-spread) - LEADS_V
    return max(low, 0.0), vrms, vrms * math.exp(spread) + LEADS_V


def spread_of_ripples(sheet: Sheet, made: Assembled, rails: Iterable[Rail], tolerances: Mapping[str, float]) -> dict[str, float]:
    """The likely ratio of each rail's ripple to what it is calculated at, either side, as its natural logarithm."""
    current, found = spread_of_currents(made, tolerances), {}
    for rail in rails:
        variance = current[rail.way[0]] ** 2
        for number, name in enumerate(rail.way):
            block = sheet.block(name)
            if block is None:
                raise KeyError(name)
            variance += sum((slope * _logarithm(tolerance_of(block, field))) ** 2 / 3.0
                            for field, slope in _slopes(block, 2.0 * math.pi * rail.ripple_hz, first=not number))
        found[rail.name] = LIKELY_SD * math.sqrt(variance)
    return found


def _logarithm(tolerance: float) -> float:
    """A tolerance either way as the logarithm of a ratio: the wider of the two, which is the lower end."""
    return -math.log1p(-min(tolerance, 0.9))


def _slopes(block: Block, rad_s: float, *, first: bool) -> list[tuple[str, float]]:
    """Per cent of ripple by a per cent of each part of a stage."""
    if first:
        return [("farad", -1.0)]
    if block.of("henry").number is not None:
        swing = max(rad_s**2 * block.number("henry") * block.number("farad"), _LEAST_CHOKE)
        slope = -swing / (swing - 1.0)
        return [("henry", slope), ("farad", slope)]
    square = (rad_s * block.number("ohm") * block.number("farad")) ** 2
    return [(field, -square / (1.0 + square)) for field in ("ohm", "farad")]


def spread_of_currents(made: Assembled, tolerances: Mapping[str, float]) -> dict[str, float]:
    """The standard deviation of the current that each reservoir gives, as a share of it."""
    from app.electrics.arrays import np
    from app.electrics.circuit.newton import settle
    from app.electrics.circuit.system import build
    from app.electrics.circuit.wander import directions, sensitivities

    system = build(made.circuit)
    along = directions(system, tolerances)
    x = settle(system, system.nominal)
    moves = sensitivities(system, system.nominal, x, along)[0]
    variance = np.array([one.fraction**2 / 3.0 for one in along])
    found = {}
    for rail in made.feeds:
        inside, outside = (system.nodes.index(node) for node in made.circuit.part(regulation_of(rail)).nodes)
        across = x[0, inside] - x[0, outside]
        if across <= 0.0:
            raise ElectricsError("load", rail, "a supply that something is drawn from")
        found[rail] = float(np.sqrt(((moves[inside] - moves[outside]) / across) ** 2 @ variance))
    return found
