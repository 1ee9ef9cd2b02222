"""How the parts of a circuit wander: tolerances as directions, draws along them, and what each does to the volts.

A direction is one thing that varies by itself: one resistor, one valve's emission, or the mains with every source of
volts that it feeds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.electrics.arrays import np
from app.electrics.circuit.laws import Array
from app.electrics.circuit.newton import flow, jacobian
from app.electrics.circuit.system import System, Values
from app.electrics.errors import ElectricsError, within

MAINS = ("volts", "mains")
KINDS = ("resistor", "capacitor", "inductor", "amps", "diode", "triode", "pentode", *MAINS)


@dataclass(frozen=True)
class Direction:
    """What varies together, by a fraction either way: columns of one of the fields of `Values`."""

    name: str
    field: str
    columns: tuple[int, ...]
    fraction: float


def column(system: System, name: str) -> tuple[str, int]:
    """Where a part's value stands: the field of `Values`, and its column."""
    for field in ("diodes", "triodes", "pentodes", "volts", "amps", "siemens"):
        names: tuple[str, ...] = getattr(system, field)
        if name in names:
            return field, names.index(name)
    raise ElectricsError("part", name, "one whose value bears on the volts at rest")


def directions(system: System, tolerances: object) -> tuple[Direction, ...]:
    """The directions of tolerances by part's name or by kind; a name goes before its kind.

    "volts" (or "mains") is one direction: every source of volts that is not named moves with the mains.  A choke that
    has no resistance and a capacitor that does not leak have nothing that could vary at rest.
    """
    if not isinstance(tolerances, Mapping):
        raise ElectricsError("tolerances", tolerances, "fractions by the names or kinds of parts")
    kind_of = {part.name: part.kind for part in system.parts}
    for key, fraction in tolerances.items():
        if not isinstance(key, str) or (key not in kind_of and key not in KINDS):
            raise ElectricsError("tolerances", key, "by the name of a part, or by one of " + ", ".join(KINDS))
        within(f"tolerances[{key}]", fraction, 0.0, 0.99)
    mains = max((float(tolerances[key]) for key in MAINS if key in tolerances and key not in kind_of), default=0.0)
    found: list[Direction] = []
    for name, kind in kind_of.items():
        fraction = float(tolerances.get(name, 0.0 if kind == "volts" or kind in kind_of else tolerances.get(kind, 0.0)))
        if fraction > 0.0 and not (kind == "inductor" and name in system.branches):
            field, at = column(system, name)
            found.append(Direction(name, field, (at,), fraction))
    fed = tuple(number for number, name in enumerate(system.volts) if name not in tolerances)
    if mains > 0.0 and fed:
        found.append(Direction("mains", "volts", fed, mains))
    return tuple(found)


def drawn(values: Values, along: tuple[Direction, ...], samples: int, seed: int) -> tuple[Values, Array]:
    """So many samples, every direction drawn evenly over its fraction; and how far each moved, a column a direction."""
    out = values.repeat(samples)
    generator = np.random.default_rng(seed)
    moved = np.array([one.fraction for one in along]) * generator.uniform(-1.0, 1.0, (samples, len(along)))
    for number, one in enumerate(along):
        factor = 1.0 + moved[:, number]
        columns: Array = getattr(out, one.field)
        for at in one.columns:
            columns[:, at] = columns[:, at] / factor if one.field == "siemens" else columns[:, at] * factor
    return out, moved


def sensitivities(system: System, values: Values, x: Array, along: tuple[Direction, ...]) -> Array:
    """Change of every unknown per unit of each direction, a sample each: (samples, unknowns, directions).

    From the equations at the solved volts: J dx = -dF, one matrix for all directions of a sample.
    """
    with np.errstate(all="ignore"):
        found = flow(system, x @ system.ports.T, values)
        matrix, _right = system.linear(values)
        whole = jacobian(system, matrix, found.slopes)
    pushed = np.zeros((len(x), system.size, len(along)))
    for number, one in enumerate(along):
        for at in one.columns:
            pushed[:, :, number] += _push(system, values, x, found.amps, one.field, at)
    return np.asarray(np.linalg.solve(whole, pushed), dtype=np.float64)


def _push(system: System, values: Values, x: Array, amps: Array, field: str, at: int) -> Array:
    """The right side that a relative change of one value stands for."""
    nd, nt = len(system.diodes), len(system.triodes)
    if field == "siemens":
        current = values.siemens[:, at] * (x @ system.through[at])
        return np.asarray(current[:, None] * system.through[at])
    if field in ("volts", "amps"):
        pattern: Array = getattr(system, f"{field}_pattern")
        return np.asarray(getattr(values, field)[:, at, None] * pattern[at])
    rows = {"diodes": [at], "triodes": [nd + 2 * at], "pentodes": [nd + 2 * nt + 3 * at, nd + 2 * nt + 3 * at + 1]}[field]
    return np.asarray(-(amps[:, rows] @ system.inject[rows]))
