"""The operating point of a circuit: volts at every node, current and watts of every part."""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.arrays import np
from app.electrics.circuit.laws import Array
from app.electrics.circuit.newton import flow, settle
from app.electrics.circuit.parts import GROUND, Circuit, as_circuit
from app.electrics.circuit.system import System, build


@dataclass(frozen=True)
class Point:
    """An operating point.

    volt: by node, the reference included.  amp: by part, from the first node it was given to the second, through the
    part; so a source of volts that delivers is negative, as in circuit simulators.  watt: what the part takes, negative
    where it delivers; all of them add up to nothing.  Valves by electrode, as "V1.anode", "V1.screen", "V1.grid": the
    current into it, and the watts it takes; "V1.cathode" is the current out of the cathode.
    """

    volt: dict[str, float]
    amp: dict[str, float]
    watt: dict[str, float]


def solve(circuit: Circuit) -> Point:
    """Solve a circuit at rest, capacitors open, chokes as the resistance of their wire.

    Modified nodal analysis, Newton's method with limited steps; where that does not settle the sources are raised from
    nothing, and failing that the circuit is let settle in time.  Laws of the curved parts: `app.electrics.circuit.laws`.
    Within 0.1 % of ngspice for the same laws.  A circuit with several rest points (a trigger, a latch) gives one of them.
    Raises ElectricsError that names it for a floating node, a loop of sources, or a node that no finite volts satisfy.
    """
    system = build(as_circuit(circuit))
    return point(system, settle(system, system.nominal)[0])


def point(system: System, x: Array) -> Point:
    """The operating point that belongs to the solved unknowns of one sample."""
    volt = {GROUND: 0.0} | {node: float(value) for node, value in zip(system.nodes, x, strict=False)}
    branch = dict(zip(system.branches, map(float, x[len(system.nodes) :]), strict=True))
    ports = (system.ports @ x)[None, :]
    with np.errstate(all="ignore"):
        curved = iter(map(float, flow(system, ports, system.nominal).amps[0]))
    amp: dict[str, float] = {}
    watt: dict[str, float] = {}
    siemens = dict(zip(system.siemens, map(float, system.nominal.siemens[0]), strict=True))
    by_kind = [part for kind in ("diode", "triode", "pentode") for part in system.parts if part.kind == kind]
    currents = {part.name: [next(curved) for _ in range({"diode": 1, "triode": 2, "pentode": 3}[part.kind])] for part in by_kind}
    for part in system.parts:
        if part.valve is not None:
            cathode = volt[part.nodes[-1]]
            names = ("anode", "grid") if part.kind == "triode" else ("anode", "screen", "grid")
            for electrode, node, current in zip(names, part.nodes, currents[part.name], strict=False):
                amp[f"{part.name}.{electrode}"] = current
                watt[f"{part.name}.{electrode}"] = current * (volt[node] - cathode)
            amp[f"{part.name}.cathode"] = sum(currents[part.name])
            continue
        across = volt[part.nodes[0]] - volt[part.nodes[1]]
        if part.name in branch:
            current = branch[part.name]
        elif part.kind == "amps":
            current = part.value
        elif part.kind == "diode":
            current = currents[part.name][0]
        else:
            current = siemens[part.name] * across
        amp[part.name], watt[part.name] = current, current * across
    return Point(volt, amp, watt)
