"""A chain of supply capacitors emptied by one stick: what every capacitor still holds, and what the stick bears.

A meter on the node under the stick tells about that node alone. Behind a dropper of 47 kohm a capacitor empties
some fifty times slower than the one the stick is on, and with the stick off it fills the others again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real
from typing import TYPE_CHECKING

from app.electrics.errors import ElectricsError, finite, positive, several, whole, within
from app.electrics.extremes import finite_result
from app.electrics.limits import Limit, limit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STICK_A = 1.0
OVERLOAD = 5.0
OVERLOAD_S = 5.0
_STICK_SOURCE = "1 ohm a volt at the least (public repair note, seen); common practice, no standard"
_OVERLOAD_SOURCE = "5 times the rated watts for 5 s (wire-wound sheet, seen; another maker's allows 10 times)"
_MOST = 30


@dataclass(frozen=True)
class ChainDischarge:
    """A chain of capacitors with a stick held on one node.

    seconds: until that node is at to_v and stays below. node_v: what each node holds at that moment. node_seconds:
    when each is at to_v with the stick left on; all_seconds the last of them. rebound_v: what every node comes to
    when the stick is taken off at `seconds`. stick_peak_a and stick_peak_w: at first touch. stick_joule: what it
    takes altogether. stick_mean_w: the mean over the first 5 s. limits: the stick's ratings judged. stick_fit: none
    of those that could be judged is beyond its limit; it does not say that the stick is whole.
    """

    seconds: float
    node_v: tuple[float, ...]
    node_seconds: tuple[float, ...]
    stick_peak_a: float
    stick_peak_w: float
    all_seconds: float
    rebound_v: float
    stick_joule: float
    stick_mean_w: float
    limits: tuple[Limit, ...]
    stick_fit: bool


@dataclass(frozen=True)
class _Modes:
    """v(t) = weight @ exp(-t / tau): a row a node, a column a mode, slowest last."""

    tau: Array
    weight: Array

    def at(self, seconds: Array) -> Array:
        """Volts, a row a moment and a column a node."""
        import numpy as np

        return np.asarray(np.exp(-seconds[:, None] / self.tau) @ self.weight.T)


def _modes(farads: Sequence[float], between: Sequence[float], volts: Sequence[float], stick: float, at: int) -> _Modes:
    """The chain's own modes. Between nodes i and j and ground the stick and the path they share are common.

    The resistances, not the conductances, are made into the matrix: its largest eigenvalues are the slowest modes,
    which are the ones a hand meets, and they come out exact however fast the others are.
    """
    import numpy as np

    path = np.concatenate(([0.0], np.cumsum(np.asarray(between, dtype=np.float64)))) - float(np.sum(between[:at]))
    same_side = path[:, None] * path[None, :] > 0.0
    shared = np.where(same_side, np.minimum(np.abs(path[:, None]), np.abs(path[None, :])), 0.0)
    root = np.sqrt(np.asarray(farads, dtype=np.float64))
    tau, shape = np.linalg.eigh(root[:, None] * (stick + shared) * root[None, :])
    tau = np.maximum(tau, tau[-1] * 1e-18)
    return _Modes(tau, shape / root[:, None] * (shape.T @ (root * np.asarray(volts, dtype=np.float64))))


def _last_crossings(modes: _Modes, to_v: float) -> Array:
    """When each node is at to_v for the last time; 0 for one that never is above."""
    import numpy as np

    slow, top = modes.tau[-1], float(np.sum(np.abs(modes.weight)))
    end = slow * (np.log(max(top / to_v, 1.0)) + 1.0)
    # Even steps for what is slow, and ever finer ones towards the start for what is fast.
    moments = np.unique(np.concatenate(([0.0], np.geomspace(end * 1e-9, end, 1500), np.linspace(0.0, end, 1500))))
    over = to_v * (1.0 + 1e-12)  # a rounding at the start is not a crossing
    above = modes.at(moments) > over
    last = np.where(above.any(axis=0), len(moments) - 1 - above[::-1].argmax(axis=0), 0)
    low, high = moments[last], moments[np.minimum(last + 1, len(moments) - 1)]
    for _ in range(80):
        middle = 0.5 * (low + high)
        still = np.diagonal(modes.at(middle)) > over
        low, high = np.where(still, middle, low), np.where(still, high, middle)
    return np.where(above.any(axis=0), high, 0.0)


def _joule(modes: _Modes, at: int, ohm: float, seconds: float | None) -> float:
    """Energy (J) in the stick from first touch to `seconds`; None for ever."""
    import numpy as np

    weight, rate = modes.weight[at], 1.0 / modes.tau
    both = rate[:, None] + rate[None, :]
    share = 1.0 if seconds is None else -np.expm1(-both * seconds)
    return float(np.sum(weight[:, None] * weight[None, :] * share / both)) / ohm


def _each(argument: str, values: object, of: str, low: float, high: float) -> list[float]:
    """The values as floats, each in range, or an error that names the one that is not."""
    return [within(f"{argument}[{number}]", value, low, high) for number, value in enumerate(several(argument, values, of))]


def _starts(from_v: float | Sequence[float], to_v: float, count: int) -> list[float]:
    if isinstance(from_v, Real):
        start = within("from_v", positive("from_v", finite("from_v", from_v)), 0.0, 1e6)
        if to_v > start:
            raise ElectricsError("to_v", to_v, f"at most from_v, {start:g}")
        return [start] * count
    starts = _each("from_v", from_v, "volts", 0.0, 1e6)
    if len(starts) != count:
        raise ElectricsError("from_v", from_v, f"one value, or one for each of the {count} capacitors")
    return starts


def _network(farads: Sequence[float], between_ohm: Sequence[float]) -> tuple[list[float], list[float]]:
    """Capacitances and the resistances between them, each in range and as many as there must be."""
    capacities = _each("farads", farads, "capacitances", 1e-12, 1000.0)
    if not 1 <= len(capacities) <= _MOST:
        raise ElectricsError("farads", farads, f"1 to {_MOST} capacitances")
    joints = _each("between_ohm", between_ohm, "resistances", 1e-3, 1e9)
    if len(joints) != len(capacities) - 1:
        count = len(capacities) - 1
        raise ElectricsError("between_ohm", between_ohm, f"{count} resistances, one between each capacitor and the next")
    return capacities, joints


def _stick_limits(peak_a: float, mean_w: float, rated_w: float | None) -> tuple[Limit, ...]:
    spark = "a spark burns the contact, and a surge like this can open the resistor, which then discharges nothing"
    found = [limit("stick, current at first touch", peak_a, STICK_A, "A", source=_STICK_SOURCE, note=spark)]
    if rated_w is not None:
        allowed = OVERLOAD * positive("stick_rated_w", rated_w)
        found.append(limit("stick, mean watts of the first 5 s", mean_w, allowed, "W", source=_OVERLOAD_SOURCE))
    return tuple(found)


@finite_result
def discharge_chain(
    *,
    farads: Sequence[float],
    between_ohm: Sequence[float],
    from_v: float | Sequence[float],
    to_v: float,
    stick_ohm: float,
    at: int = 0,
    stick_rated_w: float | None = None,
) -> ChainDischarge:
    """Discharge a chain of supply capacitors, joined by droppers or chokes, through one stick at node `at`.

    farads: 1 to 30 capacitors (1 pF to 1000 F), reservoir first. between_ohm: the resistance from each to the
    next, 1 mohm to 1 Gohm, one fewer (a choke by its winding resistance: its inductance changes nothing over
    seconds). from_v: volts by magnitude, above 0 to 1 MV, the same on all or one for each. to_v: the limit, above
    zero. stick_ohm: 1 mohm to 1 Gohm. stick_rated_w: the resistor's rated watts; without it only the current is
    judged. Its voltage rating is for a person to read on it.

    Exact solution of the linear network by its modes; leakage and bleeders are left out, so it errs on the slow
    side. Sources of the stick's limits: its `Limit`s.
    Raises ElectricsError outside the ranges. An estimate before the work: measure every node before touching it,
    with the meter proved on a known source, and again after some minutes, since dielectric absorption brings
    volts back. A capacitor behind an open dropper is not emptied at all.
    """
    capacities, joints = _network(farads, between_ohm)
    ohm, limit_v = within("stick_ohm", stick_ohm, 1e-3, 1e9), positive("to_v", to_v)
    node = whole("at", at, 0, len(capacities) - 1)
    starts = _starts(from_v, limit_v, len(capacities))
    modes = _modes(capacities, joints, starts, ohm, node)
    crossings = _last_crossings(modes, limit_v)
    left = modes.at(crossings[node : node + 1])[0]
    peak_a = starts[node] / ohm
    mean_w = _joule(modes, node, ohm, OVERLOAD_S) / OVERLOAD_S
    limits = _stick_limits(peak_a, mean_w, stick_rated_w)
    return ChainDischarge(
        seconds=float(crossings[node]),
        node_v=tuple(map(float, left)),
        node_seconds=tuple(map(float, crossings)),
        stick_peak_a=peak_a,
        stick_peak_w=starts[node] * peak_a,
        all_seconds=float(crossings.max()),
        rebound_v=sum(farad * float(volt) for farad, volt in zip(capacities, left, strict=True)) / sum(capacities),
        stick_joule=_joule(modes, node, ohm, None),
        stick_mean_w=mean_w,
        limits=limits,
        stick_fit=all(one.verdict != "above" for one in limits),
    )


@finite_result
def chain_left(
    *,
    farads: Sequence[float],
    between_ohm: Sequence[float],
    from_v: float | Sequence[float],
    stick_ohm: float,
    seconds: float,
    at: int = 0,
) -> tuple[float, ...]:
    """What every capacitor of such a chain still holds (V) when the stick has been on node `at` for `seconds`.

    Ranges as for `discharge_chain`; seconds from 0 to 1e9. The same exact solution, leakage and bleeders left out: what
    is there is read with a meter, node by node.
    """
    capacities, joints = _network(farads, between_ohm)
    ohm, node = within("stick_ohm", stick_ohm, 1e-3, 1e9), whole("at", at, 0, len(capacities) - 1)
    modes = _modes(capacities, joints, _starts(from_v, 0.0, len(capacities)), ohm, node)
    import numpy as np

    return tuple(map(float, modes.at(np.array([within("seconds", seconds, 0.0, 1e9)]))[0]))
