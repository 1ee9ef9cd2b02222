"""The volts that every node of a circuit is expected at when its parts are within their tolerances."""

from __future__ import annotations

from collections.abc import Mapping

from app.electrics.arrays import np
from app.electrics.circuit.newton import settle
from app.electrics.circuit.parts import Circuit, as_circuit
from app.electrics.circuit.system import build
from app.electrics.circuit.wander import directions, drawn, sensitivities
from app.electrics.decision import Band
from app.electrics.errors import whole

_BLOCK = 500
_OUTSIDE = (2.5, 97.5)


def expected(circuit: Circuit, *, tolerances: Mapping[str, float], samples: int = 2000, seed: int) -> dict[str, Band]:
    """A band for every node but the reference, in which it lies in 95 of 100 circuits.

    tolerances: a fraction (0 to 0.99) by the name of a part, or by kind for every part of it that is not named:
    "resistor", "inductor" (its wire), "capacitor" (its leakage), "amps", "triode" and "pentode" (emission), "diode",
    and "volts", which is the mains: it moves every source of volts that is not named alike.  Each is drawn evenly over
    its fraction, samples (20 to 100,000) times; the same seed gives the same band.  All samples are solved together.
    nominal is the circuit as it is; low and high are the 2.5 and 97.5 percentiles of the samples.
    Raises ElectricsError as `solve`, and for a tolerance that names no part.
    """
    count, start = whole("samples", samples, 20, 100_000), whole("seed", seed, 0, 2**63 - 1)
    system = build(as_circuit(circuit))
    along = directions(system, tolerances)
    nominal = settle(system, system.nominal)
    values, moved = drawn(system.nominal, along, count, start)
    # Begun where the straight line through the nominal point leads, most samples settle in two or three steps.
    begin = nominal + moved @ sensitivities(system, system.nominal, nominal, along)[0].T
    found = np.empty((count, len(system.nodes)))
    for first in range(0, count, _BLOCK):
        block = slice(first, first + _BLOCK)
        found[block] = settle(system, values.rows(block), begin[block])[:, : len(system.nodes)]
    low, high = np.percentile(found, _OUTSIDE, axis=0)
    return {
        node: Band(float(min(low[at], nominal[0, at])), float(nominal[0, at]), float(max(high[at], nominal[0, at])))
        for at, node in enumerate(system.nodes)
    }
