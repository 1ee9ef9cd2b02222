"""Which single fault explains the readings of a circuit best, and which further reading would tell the best apart.

Every fault is solved, all of them at once.  How well it explains the readings is judged with what the parts' tolerances
make of them together: a mains that is high moves every node the same way, and that is no evidence of anything.  With S
the covariance of the readings (their sensitivities at the faulty point times the tolerances, and the meter), the misfit
is d2 = r' inv(S) r of the differences r; the order is by d2 + ln det S, the likelihood of a normal distribution.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from numpy.typing import NDArray

from app.electrics.arrays import np
from app.electrics.circuit.faults import Fault, FaultKind, applied, hypotheses
from app.electrics.circuit.laws import Array
from app.electrics.circuit.newton import newton, settle
from app.electrics.circuit.parts import Circuit, as_circuit
from app.electrics.circuit.system import System, Values, build
from app.electrics.circuit.wander import Direction, directions, sensitivities
from app.electrics.errors import ElectricsError, finite, within

_SOUND, _EXPLAINED_SD = 2.33, 2.5  # quantiles of the normal distribution: 99 % one-sided, 99 % two-sided
_BETTER = 4.0  # by how much d2 has to fall for a fault to be worth saying: two standard deviations of one reading
_FLOOR_V, _FLOOR_SHARE = 3e-3, 1e-5
_ROUNDS, _FINER, _KEPT, _TOLD = 5, 5, 24, 12
_BLOCK = 300
_RUNAWAY_V = 1e5


@dataclass(frozen=True)
class Proposal:
    """A single fault that would explain the readings; never a verdict, the finding is the technician's.

    size: as `Fault`, None for an open and a short.  misfit: what is left unexplained, in standard deviations a reading
    (about 1 where the fault is the right one).  explains: the nodes whose reading lies where this fault would put it.
    predicts: volts at every node with this fault and nominal parts.  tells_apart: the unread node at which the leading
    proposals differ most for what is known there, None where every node is read or none differs.
    """

    part: str
    kind: FaultKind
    size: float | None
    misfit: float
    explains: tuple[str, ...]
    predicts: dict[str, float]
    tells_apart: str | None = None


@dataclass(frozen=True)
class _Bench:
    """What is known of the amplifier on the bench."""

    system: System
    along: tuple[Direction, ...]
    rows: NDArray[np.intp]
    readings: Array
    meter: Array
    nominal: Array


@dataclass(frozen=True)
class _Tried:
    """A fault that was solved: its volts, its misfit d2, its place in the order, and its band at every node."""

    fault: Fault
    x: Array
    d2: float
    score: float
    sd: Array


def _bench(circuit: Circuit, readings: object, tolerances: Mapping[str, float], uncertainty: float) -> _Bench:
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
    return _Bench(system, directions(system, tolerances), rows, volts, meter, nominal)


def _judged(bench: _Bench, faults: list[Fault], values: Values, x: Array) -> list[_Tried]:
    """Each solved fault with its misfit."""
    out: list[_Tried] = []
    variance = np.array([one.fraction**2 / 3.0 for one in bench.along])
    for first in range(0, len(faults), _BLOCK):
        block = slice(first, first + _BLOCK)
        moves = sensitivities(bench.system, values.rows(block), x[block], bench.along)[:, : len(bench.system.nodes)]
        sd = np.sqrt((moves**2) @ variance)
        at = moves[:, bench.rows]
        covariance = (at * variance) @ at.transpose(0, 2, 1) + np.diag(bench.meter**2)
        off = bench.readings - x[block][:, bench.rows]
        d2 = np.einsum("hr,hr->h", off, np.linalg.solve(covariance, off[:, :, None])[:, :, 0])
        _sign, size = np.linalg.slogdet(covariance)
        for number, fault in enumerate(faults[block]):
            if np.isfinite(d2[number]):
                out.append(_Tried(fault, x[first + number], float(d2[number]), float(d2[number] + size[number]), sd[number]))
    return out


def _tried(bench: _Bench, faults: list[Fault]) -> list[_Tried]:
    """Solve every fault from the nominal point and judge it; one that does not settle is walked there on its own."""
    if not faults:
        return []
    values = applied(bench.system, bench.system.nominal, faults)
    x = np.empty((len(faults), bench.system.size))
    for first in range(0, len(faults), _BLOCK):
        block = slice(first, first + _BLOCK)
        part = values.rows(block)
        with np.errstate(all="ignore"):
            found = newton(bench.system, part, np.repeat(bench.nominal, len(part.siemens), axis=0))
        x[block] = found.x
        for row in np.flatnonzero(~found.fine):
            try:
                x[first + row] = settle(bench.system, part.rows([int(row)]))[0]
            except ElectricsError:  # a fault that this circuit has no rest with explains no reading taken at rest
                x[first + row] = np.nan
    fine = np.flatnonzero(np.isfinite(x).all(axis=1) & (np.abs(x) < _RUNAWAY_V).all(axis=1))
    return _judged(bench, [faults[row] for row in fine], values.rows(fine), x[fine])


def _finer(family: list[_Tried]) -> list[Fault]:
    """Sizes between the neighbours of the best of a family."""
    order = sorted(family, key=lambda one: one.fault.size or 0.0)
    best = min(range(len(order)), key=lambda at: order[at].score)
    fault, size = order[best].fault, order[best].fault.size
    if size is None or fault.volts:
        return []
    below = order[best - 1].fault.size if best else size * 0.5
    above = order[best + 1].fault.size if best + 1 < len(order) else size * 2.0
    if fault.kind in ("open", "short") and not (best and best + 1 < len(order)):
        return []  # beyond the largest open nothing passes, across the least short nothing drops: further sizes read alike
    if not below or not above:
        return []
    return [replace(fault, size=float(value)) for value in np.geomspace(below, above, _FINER + 2)[1:-1]]


def _sound_below(count: int) -> float:
    """d2 below which a sound amplifier lies in 99 of 100: the chi-squared quantile, by Wilson and Hilferty's cube."""
    spread = 2.0 / (9.0 * count)
    return count * (1.0 - spread + _SOUND * math.sqrt(spread)) ** 3


def _apart(bench: _Bench, best: list[_Tried]) -> str | None:
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


def propose(
    circuit: Circuit,
    readings: Mapping[str, float],
    *,
    faults: Iterable[str | tuple[str, str] | Fault] | None = None,
    tolerances: Mapping[str, float],
    uncertainty: float = 0.01,
) -> tuple[Proposal, ...]:
    """The single faults that explain the readings best, best first; none where the readings need no fault.

    readings: volts to node "0" by node; nodes that were not read are left out.  faults: None for every part's open,
    short, drifted, leaky, weak, gassy and shifted; else kinds, (part, kind) pairs, and `Fault`s whose effect on the
    sources was solved elsewhere (a dried reservoir, by `capacitor_input`).  tolerances as `expected`: what is within
    them is no fault.  uncertainty: the readings' expanded relative uncertainty (k = 2).

    "No fault" is said where a sound circuit reads like this in 99 of 100 cases; up to 12 faults are told else.
    Linear in the tolerances (at each fault's own point), normal in what is left; two faults at once are not tried.
    Raises ElectricsError as `solve` and `expected`, and for a reading at no node.
    """
    bench = _bench(circuit, readings, tolerances, uncertainty)
    sound = _judged(bench, [Fault("", "shifted")], bench.system.nominal, bench.nominal)[0]
    if sound.d2 <= _sound_below(len(bench.readings)):
        return ()
    families: dict[tuple[str, str], list[_Tried]] = {}
    for one in _tried(bench, [fault for family in hypotheses(circuit, faults, bench.along) for fault in family]):
        families.setdefault((one.fault.part, one.fault.kind), []).append(one)
    for _ in range(_ROUNDS):
        first = sorted(families.values(), key=lambda family: min(one.score for one in family))[:_KEPT]
        for one in _tried(bench, [fault for family in first for fault in _finer(family)]):
            families[one.fault.part, one.fault.kind].append(one)
    best = sorted((min(family, key=lambda one: one.score) for family in families.values()), key=lambda one: one.score)
    best = [one for one in best if one.d2 < sound.d2 - _BETTER][:_TOLD]
    apart = _apart(bench, best[:5])
    return tuple(_said(bench, one, apart) for one in best)


def _said(bench: _Bench, one: _Tried, apart: str | None) -> Proposal:
    nodes = bench.system.nodes
    room = _EXPLAINED_SD * np.hypot(one.sd[bench.rows], bench.meter)
    inside = np.abs(bench.readings - one.x[bench.rows]) <= room
    return Proposal(
        part=one.fault.part,
        kind=one.fault.kind,
        size=None if one.fault.kind in ("open", "short") else one.fault.size,
        misfit=math.sqrt(one.d2 / len(bench.readings)),
        explains=tuple(nodes[row] for row, fits in zip(bench.rows, inside, strict=True) if fits),
        predicts={node: float(volt) for node, volt in zip(nodes, one.x, strict=False)},
        tells_apart=apart,
    )
