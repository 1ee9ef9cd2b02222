"""A circuit as a list of parts between named nodes, each checked as it is added."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from app.electrics.errors import ElectricsError, positive, within
from app.electrics.valves import Valve, ValveLike
from app.electrics.valves.lookup import find

GROUND = "0"

Kind = Literal["resistor", "capacitor", "inductor", "volts", "amps", "diode", "triode", "pentode"]
OHM = (1e-6, 1e15)
FARAD = (1e-18, 1e4)
HENRY = (1e-15, 1e6)
VOLT = (-1e6, 1e6)
AMP = (-1e4, 1e4)
EMISSION = (0.0, 100.0)


@dataclass(frozen=True)
class Part:
    """One part: its kind, its nodes in the order of the method that added it, and its value in SI units.

    value: ohm, farad, henry, V, A, or a valve's emission (1.0 as its sheet has it; a diode's is 1.0).  second: a
    capacitor's leakage (ohm) or an inductor's winding (ohm); None for no leakage.
    """

    name: str
    kind: Kind
    nodes: tuple[str, ...]
    value: float
    second: float | None = None
    valve: Valve | None = None


def _text(argument: str, value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ElectricsError(argument, value, "a name: a text that is not empty")
    return value


class Circuit:
    """Parts between nodes.  Node "0" is the reference; every other name is a node as soon as a part uses it.

    Each method adds one part and returns the circuit.  All of them raise ElectricsError for a name that is taken or
    is no text and for a value out of range; what the circuit as a whole may lack is found when it is solved.
    """

    def __init__(self) -> None:
        self._parts: dict[str, Part] = {}

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every part in the order it was added."""
        return tuple(self._parts.values())

    def part(self, name: str) -> Part:
        """The part of that name; ElectricsError where there is none."""
        if not isinstance(name, str) or name not in self._parts:
            raise ElectricsError("part", name, "the name of a part of this circuit")
        return self._parts[name]

    def copy(self) -> Circuit:
        """A circuit of the same parts, to be changed on its own."""
        other = Circuit()
        other._parts = dict(self._parts)
        return other

    def replace(self, name: str, change: Callable[[Part], Part]) -> Circuit:
        """The same circuit with one part changed: a copy, this one stays as it is."""
        other = self.copy()
        other._parts[name] = change(self.part(name))
        return other

    def resistor(self, name: str, a: str, b: str, ohm: float) -> Circuit:
        """A resistance of 1 microhm to 1e15 ohm."""
        return self._add(name, "resistor", (a, b), within("ohm", ohm, *OHM))

    def capacitor(self, name: str, a: str, b: str, farad: float, leak_ohm: float | None = None) -> Circuit:
        """A capacitance (F, above zero), with the resistance of its leakage across it where it has one."""
        leak = None if leak_ohm is None else within("leak_ohm", leak_ohm, *OHM)
        return self._add(name, "capacitor", (a, b), within("farad", farad, *FARAD), leak)

    def inductor(self, name: str, a: str, b: str, henry: float, dcr_ohm: float) -> Circuit:
        """A choke or winding (H, above zero) with the resistance of its wire (ohm, zero or more)."""
        dcr = within("dcr_ohm", dcr_ohm, 0.0, OHM[1])
        return self._add(name, "inductor", (a, b), within("henry", henry, *HENRY), dcr if dcr >= OHM[0] else 0.0)

    def volts(self, name: str, plus: str, minus: str, v: float) -> Circuit:
        """A source of so many volts from `plus` to `minus`, without resistance of its own."""
        return self._add(name, "volts", (plus, minus), within("v", v, *VOLT))

    def amps(self, name: str, a: str, b: str, amp: float) -> Circuit:
        """A source that drives so many amperes through itself from `a` to `b`: out of node a, into node b."""
        return self._add(name, "amps", (a, b), within("amp", amp, *AMP))

    def diode(self, name: str, anode: str, cathode: str) -> Circuit:
        """A silicon diode of type 1N4007; see `app.electrics.supply.rectifiers`."""
        return self._add(name, "diode", (anode, cathode), 1.0)

    def triode(self, name: str, anode: str, grid: str, cathode: str, valve: ValveLike, emission: float = 1.0) -> Circuit:
        """One triode section; emission multiplies what its sheet's model passes (0.7: a tired valve)."""
        entry = valve if isinstance(valve, Valve) else find("valve", valve)
        entry.triode()
        return self._add(name, "triode", (anode, grid, cathode), within("emission", emission, *EMISSION), valve=entry)

    def pentode(
        self, name: str, anode: str, screen: str, grid: str, cathode: str, valve: ValveLike, emission: float = 1.0
    ) -> Circuit:
        """One pentode or beam tetrode, its suppressor or beam plates at the cathode; emission as `triode`."""
        entry = valve if isinstance(valve, Valve) else find("valve", valve)
        entry.pentode()
        return self._add(name, "pentode", (anode, screen, grid, cathode), within("emission", emission, *EMISSION), valve=entry)

    def _add(
        self, name: str, kind: Kind, nodes: tuple[str, ...], value: float, second: float | None = None, valve: Valve | None = None
    ) -> Circuit:
        named = _text("name", name)
        if named in self._parts:
            raise ElectricsError("name", name, "one that no other part of the circuit has")
        for node in nodes:
            _text("node", node)
        if kind in ("resistor", "capacitor"):
            positive("ohm" if kind == "resistor" else "farad", value)
        self._parts[named] = Part(named, kind, nodes, value, second, valve)
        return self


def as_circuit(circuit: object) -> Circuit:
    """The circuit itself; ElectricsError for anything else, and for one without parts."""
    if not isinstance(circuit, Circuit):
        raise ElectricsError("circuit", circuit, "a Circuit")
    if not circuit.parts:
        raise ElectricsError("circuit", "empty", "a Circuit with parts")
    return circuit
