"""Faults tried on the circuit of a bench: each solved, and weighed by how well it explains the readings.

How well a fault explains them is judged with what the parts' tolerances make of them together: a mains that is high moves
every node the same way, and that is no evidence of anything.  With S the covariance of the readings (their sensitivities
at the faulty point times the tolerances, and the meter), the misfit is d2 = r' inv(S) r of the differences r; the order
is by d2 + ln det S, the likelihood of a normal distribution.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from numpy.typing import NDArray

from app.electrics.arrays import np
from app.electrics.circuit.faults import Fault, applied
from app.electrics.circuit.laws import Array
from app.electrics.circuit.newton import newton, settle
from app.electrics.circuit.parts import Circuit, as_circuit
from app.electrics.circuit.system import System, Values, build
from app.electrics.circuit.wander import Direction, directions, sensitivities
from app.electrics.errors import ElectricsError, finite, within

_SOUND, _EXPLAINED_SD = 2.33, 2.5  # quantiles of the normal distribution: 99 % one-sided, 99 % two-sided
_FLOOR_V, _FLOOR_SHARE = 3e-3, 1e-5
_FINER = 5
_BLOCK = 300
_RUNAWAY_V = 1e5


@dataclass(frozen=True)
class Bench:
    """What is known of the amplifier on the bench."""

    system: System
    along: tuple[Direction, ...]
    rows: NDArray[np.intp]
    readings: Array
    meter: Array
    nominal: Array

    @property
    def variance(self) -> Array:
        """Of each direction: it is drawn evenly over its fraction either way."""
        return np.array([one.fraction**2 / 3.0 for one in self.along])

    @property
    def sound_below(self) -> float:
        """d2 below which a sound amplifier lies in 99 of 100: the chi-squared quantile, by Wilson and Hilferty's cube."""
        count = len(self.readings)
        spread = 2.0 / (9.0 * count)
        return float(count * (1.0 - spread + _SOUND * math.sqrt(spread)) ** 3)


@dataclass(frozen=True)
class Tried:
    """Faults of one amplifier that were solved: its volts, its misfit d2, its place in the order, its band at every node."""

    faults: tuple[Fault, ...]
    x: Array
    d2: float
    score: float
    sd: Array

    @property
    def fault(self) -> Fault:
        """The one fault, or the first of two."""
        return self.faults[0]


@dataclass(frozen=True)
class Weighed:
    """Solved circuits against the readings: sensitivities of every node, covariance S of the readings, differences r."""

    moves: Array
    covariance: Array
    off: Array


def bench_of(circuit: Circuit, readings: object, tolerances: Mapping[str, float], uncertainty: float) -> Bench:
    """The circuit laid out and settled with its readings; ElectricsError for a reading at no node, by its name."""
    system = build(as_circuit(circuit))
    if not isinstance(readings, Mapping) or not readings:
        raise ElectricsError("readings", readings, "volts by the names of nodes, at least one")
    share = within("uncertainty", uncertainty, 0.0, 1.0)
    for node, volt in readings.items():
        if node not in system.nodes:
            raise ElectricsError("readings", node, "read at nodes of this circuit")
        within(f"readings[{node}]", finite(f"readings[{node}]", volt), -1e6, 1e6)
    rows = np.array([system.nodes.index(node) for node in readings])
    volts = np.array([float(volt) for volt in readings.values()])
    nominal = settle(system, system.nominal)
    floor = _FLOOR_V + _FLOOR_SHARE * float(np.abs(nominal[0, : len(system.nodes)]).max())
    meter = np.hypot(0.5 * share * np.abs(volts), floor)
    return Bench(system, directions(system, tolerances), rows, volts, meter, nominal)


def weighed(bench: Bench, values: Values, x: Array) -> Weighed:
    """What the tolerances make of the readings at these points."""
    moves = sensitivities(bench.system, values, x, bench.along)[:, : len(bench.system.nodes)]
    at = moves[:, bench.rows]
    covariance = (at * bench.variance) @ at.transpose(0, 2, 1) + np.diag(bench.meter**2)
    return Weighed(moves, covariance, bench.readings - x[:, bench.rows])


def judged(bench: Bench, faults: Sequence[tuple[Fault, ...]], values: Values, x: Array) -> list[Tried]:
    """Each solved row with its misfit."""
    out: list[Tried] = []
    for first in range(0, len(faults), _BLOCK):
        block = slice(first, first + _BLOCK)
        found = weighed(bench, values.rows(block), x[block])
        sd = np.sqrt((found.moves**2) @ bench.variance)
        off = found.off
        d2 = np.einsum("hr,hr->h", off, np.linalg.solve(found.covariance, off[:, :, None])[:, :, 0])
        _sign, size = np.linalg.slogdet(found.covariance)
        for number, row in enumerate(faults[block]):
            if np.isfinite(d2[number]):
                out.append(Tried(row, x[first + number], float(d2[number]), float(d2[number] + size[number]), sd[number]))
    return out


def solved(bench: Bench, faults: Sequence[tuple[Fault, ...]], start: Array | None = None) -> list[Tried]:
    """Solve every row of faults and judge it; start: the unknowns to begin each from, the sound amplifier's if None.

    One that does not settle from the sound amplifier's is walked there on its own. Of those begun elsewhere there are many
    sizes of each and walks are slow: one that does not settle from the sound amplifier's either is left out.
    """
    if not faults:
        return []
    values = applied(bench.system, bench.system.nominal, faults)
    begin = np.repeat(bench.nominal, len(faults), axis=0) if start is None else start
    x = np.empty((len(faults), bench.system.size))
    for first in range(0, len(faults), _BLOCK):
        block = slice(first, first + _BLOCK)
        part = values.rows(block)
        with np.errstate(all="ignore"):
            found = newton(bench.system, part, begin[block])
        x[block] = found.x
        for row in np.flatnonzero(~found.fine):
            if start is None and _restless(faults, first + int(row), x):
                x[first + row] = np.nan
                continue
            if start is not None:
                x[first + row] = _again(bench, part.rows([int(row)]))
                continue
            try:
                x[first + row] = settle(bench.system, part.rows([int(row)]))[0]
            except ElectricsError:  # a fault that this circuit has no rest with explains no reading taken at rest
                x[first + row] = np.nan
    fine = np.flatnonzero(np.isfinite(x).all(axis=1) & (np.abs(x) < _RUNAWAY_V).all(axis=1))
    return judged(bench, [faults[int(row)] for row in fine], values.rows(fine), x[fine])


def _restless(faults: Sequence[tuple[Fault, ...]], row: int, x: Array) -> bool:
    """Whether the same fault at the size before was walked and came to no rest: the next size is not walked too."""
    before = faults[row - 1] if row else ()
    same = [(one.part, one.kind) for one in before] == [(one.part, one.kind) for one in faults[row]]
    return same and not np.isfinite(x[row - 1]).all()


def _again(bench: Bench, values: Values) -> Array:
    """One row begun from the sound amplifier; no number where that does not settle."""
    with np.errstate(all="ignore"):
        found = newton(bench.system, values, bench.nominal)
    return found.x[0] if found.fine[0] else np.full(bench.system.size, np.nan)


def sound(bench: Bench) -> Tried:
    """The amplifier with no fault, judged as the faults are."""
    return judged(bench, [(Fault("", "shifted"),)], bench.system.nominal, bench.nominal)[0]


def finer(family: list[Tried]) -> list[tuple[Fault, ...]]:
    """Sizes between the neighbours of the best of a family of single faults."""
    order = sorted(family, key=lambda one: one.fault.size or 0.0)
    best = min(range(len(order)), key=lambda at: order[at].score)
    fault, size = order[best].fault, order[best].fault.size
    if size is None or fault.volts:
        return []
    below = order[best - 1].fault.size if best else size * 0.5
    above = order[best + 1].fault.size if best + 1 < len(order) else size * 2.0
    if fault.kind in ("open", "short") and not (best and best + 1 < len(order)):
        return []  # beyond the largest open nothing passes, across the least short nothing drops: further sizes read alike
    if fault.kind == "weak" and above is not None:
        above = min(above, 1.0)  # a valve that passes more than its sheet says is not weak
    if not below or not above or above <= below:
        return []
    return [(replace(fault, size=float(value)),) for value in np.geomspace(below, above, _FINER + 2)[1:-1]]


def apart(bench: Bench, best: Sequence[Tried]) -> str | None:
    """The unread node that tells most: how far the proposals differ there, against what would blur it.

    The proposals are weighted by their likelihood, each held to a tenth of the first at the least, since the order
    among them is what the reading is to decide.
    """
    unread = [at for at in range(len(bench.system.nodes)) if at not in set(bench.rows.tolist())]
    if not unread or len(best) < 2:
        return None
    weight = np.array([max(math.exp(-0.5 * (one.score - best[0].score)), 0.1) for one in best])
    weight /= weight.sum()
    volts = np.array([one.x[unread] for one in best])
    spread = weight @ (volts - weight @ volts) ** 2
    blur = weight @ np.array([one.sd[unread] for one in best]) ** 2 + _FLOOR_V**2 + (0.01 * (weight @ np.abs(volts))) ** 2
    told = spread / blur
    top = int(told.argmax())
    return bench.system.nodes[unread[top]] if told[top] > 0.1 else None


def misfit(bench: Bench, one: Tried) -> float:
    """What is left unexplained, in standard deviations a reading."""
    return math.sqrt(one.d2 / len(bench.readings))


def explained(bench: Bench, one: Tried) -> tuple[str, ...]:
    """The nodes whose reading lies where these faults would put it."""
    room = _EXPLAINED_SD * np.hypot(one.sd[bench.rows], bench.meter)
    inside = np.abs(bench.readings - one.x[bench.rows]) <= room
    return tuple(bench.system.nodes[row] for row, fits in zip(bench.rows, inside, strict=True) if fits)


def volts_of(bench: Bench, one: Tried) -> dict[str, float]:
    """Volts at every node, with nominal parts."""
    return {node: float(volt) for node, volt in zip(bench.system.nodes, one.x, strict=False)}
