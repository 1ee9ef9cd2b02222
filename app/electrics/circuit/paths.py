"""What no circuit can be solved with, found before it is tried: a node that floats, sources in a loop."""

from __future__ import annotations

from collections.abc import Iterable

from app.electrics.circuit.parts import GROUND, Circuit, Part
from app.electrics.errors import ElectricsError


def _direct_paths(part: Part) -> Iterable[tuple[str, str]]:
    """The pairs of nodes between which a part passes direct current.

    A capacitor without leakage passes none, a current source fixes no volts, and a grid passes none at rest.
    """
    if part.kind in ("resistor", "inductor", "volts", "diode") or (part.kind == "capacitor" and part.second is not None):
        return [(part.nodes[0], part.nodes[1])]
    if part.kind == "triode":
        return [(part.nodes[0], part.nodes[2])]
    if part.kind == "pentode":
        return [(part.nodes[0], part.nodes[3]), (part.nodes[1], part.nodes[3])]
    return []


def refuse_floating(circuit: Circuit) -> None:
    """ElectricsError that names a node from which no path for direct current leads to the reference."""
    beside: dict[str, set[str]] = {node: set() for part in circuit.parts for node in part.nodes}
    for part in circuit.parts:
        for one, other in _direct_paths(part):
            beside[one].add(other)
            beside[other].add(one)
    if GROUND not in beside:
        raise ElectricsError("circuit", "without a reference", 'one with a part on node "0"')
    reached, waiting = {GROUND}, [GROUND]
    while waiting:
        for node in beside[waiting.pop()] - reached:
            reached.add(node)
            waiting.append(node)
    for part in circuit.parts:
        for node in part.nodes:
            if node not in reached:
                at = ", ".join(other.name for other in circuit.parts if node in other.nodes)
                allowed = f'joined to node "0" by a path for direct current; it floats, with {at} on it'
                raise ElectricsError("node", node, allowed)


def refuse_source_loops(circuit: Circuit) -> None:
    """ElectricsError that names the sources (and chokes without resistance) that make a loop."""
    fixed: dict[str, list[tuple[str, str]]] = {}
    for part in circuit.parts:
        if part.kind == "volts" or (part.kind == "inductor" and not part.second):
            start, end = part.nodes
            loop = _way(fixed, start, end)
            if loop is not None:
                names = ", ".join([*loop, part.name])
                argument = "volts" if part.kind == "volts" else "dcr_ohm"
                raise ElectricsError(argument, part.name, f"no part of a loop of sources without resistance: {names}")
            fixed.setdefault(start, []).append((end, part.name))
            fixed.setdefault(end, []).append((start, part.name))


def _way(fixed: dict[str, list[tuple[str, str]]], start: str, end: str) -> list[str] | None:
    """The sources on the way from one node to another, none for the node itself, None where there is no way."""
    if start == end:
        return []
    seen = {start}
    found: list[tuple[str, list[str]]] = [(start, [])]
    while found:
        node, names = found.pop()
        for other, name in fixed.get(node, []):
            if other == end:
                return [*names, name]
            if other not in seen:
                seen.add(other)
                found.append((other, [*names, name]))
    return None
