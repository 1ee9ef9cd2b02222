"""The single faults that a circuit can have, as changed values: each with the sizes that are tried."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from app.electrics.circuit.parts import Circuit, Part
from app.electrics.circuit.system import System, Values, gas_name
from app.electrics.circuit.wander import Direction, column
from app.electrics.errors import ElectricsError, finite

FaultKind = Literal["open", "short", "drifted", "leaky", "dried", "weak", "gassy", "shifted"]
KINDS: tuple[FaultKind, ...] = ("open", "short", "drifted", "leaky", "dried", "weak", "gassy", "shifted")

# What an open still passes is anyone's guess (dirt, a board's leakage, the meter itself), so that it has sizes too.
OPENS, DEAD, DEAD_DIODE = (1e7, 1e8, 1e9, 1e10, 1e12), (1e-2, 1e-4, 1e-6, 1e-9), (1e-8, 1e-10, 1e-12)
SHORTS = (1e-2, 1e-1, 1.0, 10.0)
_SHORT_SHARE = (1e-6, 0.3)  # of what it shorts: less reads no otherwise, more is no short but a drift
DRIFTS = (0.1, 0.3, 0.5, 0.7, 0.85, 1.2, 1.5, 2.0, 3.0, 5.0, 10.0)
LEAKS = tuple(10.0 ** (3.0 + 0.5 * step) for step in range(12))
WEAKNESSES = (0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8)
GAS = tuple(10.0 ** (-7.0 + 0.5 * step) for step in range(7))
_TYPICAL = {"open": 1e9, "short": 0.1, "leaky": 1e6, "drifted": 3.0, "weak": 0.4, "gassy": 1e-6, "shifted": 0.8}
SHIFTS = (0.02, 0.3, 0.6, 0.8, 0.9, 1.1, 1.2, 1.4, 1.8)


@dataclass(frozen=True)
class Fault:
    """One fault of one part.

    size: what it amounts to: the factor on a resistor, an emission or a source, the ohms of a leak, an open or a short
    (of a valve or diode that is open the factor on what it passes), the amperes of a grid's gas current.  volts: for a
    fault that is solved elsewhere, in a supply with its rectifier, say: what the sources of the circuit come to with
    it, by name.
    """

    part: str
    kind: FaultKind
    size: float | None = None
    volts: Mapping[str, float] = field(default_factory=dict)


def _shorts(ohm: float) -> tuple[float, ...]:
    """The shorts of a resistance that are worth trying."""
    least, most = (share * ohm for share in _SHORT_SHARE)
    return tuple(size for size in SHORTS if least <= size <= most) or (max(min(SHORTS[-1], most), least),)


def _sizes(part: Part) -> Iterator[tuple[FaultKind, tuple[float, ...]]]:
    """The faults of a part, each with the sizes to try."""
    if part.kind == "resistor":
        yield from (("open", OPENS), ("short", _shorts(part.value)), ("drifted", DRIFTS))
    elif part.kind == "capacitor":
        yield from (("short", SHORTS[1:]), ("leaky", LEAKS))
    elif part.kind == "inductor" and part.second:
        yield from (("open", OPENS), ("short", _shorts(part.second)))
    elif part.kind == "diode":
        yield from (("open", DEAD_DIODE), ("short", SHORTS[1:]))
    elif part.kind in ("triode", "pentode"):
        yield from (("open", DEAD), ("weak", WEAKNESSES), ("gassy", GAS))
    elif part.kind in ("volts", "amps"):
        yield ("shifted", SHIFTS if part.value else ())


def _wanted(circuit: Circuit, faults: object) -> tuple[list[tuple[str, str]] | None, list[Fault]]:
    """What was asked for: pairs of part and kind (None for all), and faults solved elsewhere."""
    if faults is None:
        return None, []
    if isinstance(faults, str) or not isinstance(faults, Iterable):
        raise ElectricsError("faults", faults, "kinds of fault, pairs of a part and a kind, or Faults")
    names = [part.name for part in circuit.parts]
    pairs: list[tuple[str, str]] = []
    made: list[Fault] = []
    for one in faults:
        if isinstance(one, Fault):
            made.append(_checked(circuit, one))
        elif isinstance(one, str) and one in KINDS:
            pairs += [(name, one) for name in names]
        elif isinstance(one, tuple) and len(one) == 2 and one[0] in names and one[1] in KINDS:
            pairs.append((one[0], one[1]))
        else:
            raise ElectricsError("faults", one, "kinds of fault (" + ", ".join(KINDS) + "), (part, kind) pairs, or Faults")
    return pairs, made


def _checked(circuit: Circuit, fault: Fault) -> Fault:
    if fault.kind not in KINDS:
        raise ElectricsError("faults", fault.kind, "of a kind among " + ", ".join(KINDS))
    for name, volt in fault.volts.items():
        if circuit.part(name).kind != "volts":
            raise ElectricsError("faults", name, "the volts of sources of volts")
        finite(f"faults[{name}]", volt)
    return fault


def hypotheses(circuit: Circuit, faults: object, along: tuple[Direction, ...]) -> list[list[Fault]]:
    """Every fault to be tried, those of one part and kind together, sizes rising.

    A drift, weakness or shift within the part's own tolerance is no fault and is left out.
    """
    pairs, made = _wanted(circuit, faults)
    allowed = {one.name: one.fraction for one in along}
    families = [[fault] for fault in made]
    for part in circuit.parts:
        for kind, sizes in _sizes(part):
            if pairs is not None and (part.name, kind) not in pairs:
                continue
            room = allowed.get(part.name, allowed.get("mains", 0.0) if part.kind == "volts" else 0.0)
            if kind in ("drifted", "weak", "shifted"):
                sizes = tuple(size for size in sizes if abs(size - 1.0) > room)
            if sizes:
                families.append([Fault(part.name, kind, size) for size in sizes])
    return families


def applied(system: System, values: Values, faults: Sequence[tuple[Fault, ...]]) -> Values:
    """The nominal values with the faults of one row in each row; of two in a row neither may undo the other."""
    out = values.repeat(len(faults))
    for row, together in enumerate(faults):
        for fault in together:
            for name, volt in fault.volts.items():
                out.volts[row, system.volts.index(name)] = volt
            if not fault.volts and fault.kind != "dried":  # dried changes nothing at rest but what was solved elsewhere
                _apply(system, out, row, fault)
    return out


def _apply(system: System, out: Values, row: int, fault: Fault) -> None:
    if fault.kind == "gassy":
        out.amps[row, system.amps.index(gas_name(fault.part))] = fault.size or _TYPICAL["gassy"]
        return
    where, at = column(system, fault.part)
    columns = getattr(out, where)
    size = fault.size or _TYPICAL[fault.kind]
    if fault.kind == "open" and where != "siemens":
        columns[row, at] = fault.size or (DEAD_DIODE if where == "diodes" else DEAD)[-1]
    elif fault.kind in ("open", "short", "leaky"):
        out.siemens[row, system.siemens.index(fault.part)] = 1.0 / size
    elif fault.kind == "drifted":
        columns[row, at] /= size
    else:
        columns[row, at] *= size
