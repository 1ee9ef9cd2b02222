"""Which two faults at once explain readings that no single fault explains.

Of each of the best single faults the solved circuit is taken, and every second fault is weighed there by what it would
take off the misfit if the circuit were straight about that point: with s the change of the readings that the second fault
pushes for, S their covariance and r what is left of them, the gain is (s' inv(S) r)^2 / (s' inv(S) s).  For one branch of a
circuit of resistances that is exact, whatever its size.  The pairs that promise most are then solved in full, at all sizes
of the second, and both sizes are walked to where the misfit is least.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from app.electrics.arrays import np
from app.electrics.circuit.faults import Fault, FaultKind, applied
from app.electrics.circuit.laws import Array
from app.electrics.circuit.newton import flow, jacobian
from app.electrics.circuit.parts import Circuit
from app.electrics.circuit.propose import Ranked, Wanted, ranked, said_size
from app.electrics.circuit.tried import Bench, Tried, apart, bench_of, explained, misfit, solved, volts_of, weighed
from app.electrics.errors import within

FITS = 2.5  # standard deviations a reading: what faults may leave and still be said to explain the readings
_FIRSTS, _PAIRS, _TOLD = 16, 40, 6
_WALKS, _LEAST_STEP, _BEYOND = 9, 1.02, 2.0
_STEPS: dict[FaultKind, float] = {
    "drifted": 1.3, "shifted": 1.15, "weak": 1.4, "leaky": 1.8, "gassy": 1.8, "open": 10.0, "short": 10.0}  # fmt: skip

Mover = tuple[str, str]


@dataclass(frozen=True)
class PairProposal:
    """Two faults that together would explain the readings; never a verdict, the finding is the technician's.

    faults: (part, kind, size) of each, size None for an open and a short.  The rest as `Proposal`.
    """

    faults: tuple[tuple[str, FaultKind, float | None], ...]
    misfit: float
    explains: tuple[str, ...]
    predicts: dict[str, float]
    tells_apart: str | None = None


def _mover(fault: Fault) -> Mover:
    """The part, and the way that it goes: faults of one mover push the readings the same way, and are one finding at the bench.

    Weaker is less current through it than it should have, or less from it: an open, a resistor drifted up, a weak valve.
    """
    if fault.kind in ("gassy", "dried"):
        return fault.part, fault.kind
    if fault.volts:
        return fault.part, "fed otherwise"
    size = fault.size or 1.0
    weaker = fault.kind in ("open", "weak") or (fault.kind == "drifted" and size > 1.0) or (fault.kind == "shifted" and size < 1.0)
    return fault.part, "weaker" if weaker else "stronger"


def _movers(found: Ranked) -> dict[Mover, list[Fault]]:
    """Every fault that was tried, by its mover."""
    out: dict[Mover, list[Fault]] = {}
    for fault in itertools.chain.from_iterable(found.hypotheses):
        out.setdefault(_mover(fault), []).append(fault)
    return out


def _firsts(found: Ranked) -> list[Tried]:
    """The best single faults, one of each mover."""
    best: dict[Mover, Tried] = {}
    for one in found.best:
        best.setdefault(_mover(one.fault), one)
    return list(best.values())[:_FIRSTS]


def _can_meet(one: Fault, other: Fault) -> bool:
    """Whether two faults can be of one amplifier: of two parts, and neither says anew what the other has said of a source."""
    sources = ({*one.volts, one.part}, {*other.volts, other.part})
    return not sources[0] & sources[1]


def _pushes(bench: Bench, first: Tried, seconds: list[Fault]) -> Array:
    """What each second fault adds to the right side of the equations at the first's point, a row each.

    The equations are linear in the values of the parts, so that this is a difference of values times what stands beside it.
    """
    system, x = bench.system, first.x
    base = applied(system, bench.system.nominal, [first.faults])
    both = applied(system, bench.system.nominal, [(*first.faults, one) for one in seconds])
    amps = flow(system, x[None] @ system.ports.T, base).amps[0]
    nd, nt = len(system.diodes), len(system.triodes)
    out = (both.siemens - base.siemens) @ (-(system.through @ x)[:, None] * system.through)
    out += (both.volts - base.volts) @ system.volts_pattern + (both.amps - base.amps) @ system.amps_pattern
    for name, each, start, width in (("diodes", 1, 0, 1), ("triodes", 1, nd, 2), ("pentodes", 2, nd + 2 * nt, 3)):
        was, now = getattr(base, name), getattr(both, name)
        for at in range(was.shape[1]):
            rows = [start + width * at + electrode for electrode in range(each)]
            out += ((now[:, at] - was[:, at]) / was[0, at])[:, None] * (-(amps[rows] @ system.inject[rows]))
    return np.asarray(out, dtype=np.float64)


def _promises(bench: Bench, first: Tried, seconds: list[Fault]) -> Array:
    """What each second fault would take off the first's misfit, straight at the first's point."""
    system, x = bench.system, first.x[None]
    values = applied(system, system.nominal, [first.faults])
    with np.errstate(all="ignore"):
        matrix, _right = system.linear(values)
        whole = jacobian(system, matrix, flow(system, x @ system.ports.T, values).slopes)[0]
        moved = np.linalg.solve(whole, _pushes(bench, first, seconds).T)[bench.rows].T
        here = weighed(bench, values, x)
        inverse = np.linalg.inv(here.covariance[0])
        toward = moved @ inverse @ here.off[0]
        length = np.einsum("fr,rs,fs->f", moved, inverse, moved)
        gain = np.where((toward > 0.0) & (length > 0.0), toward**2 / length, 0.0)
    return np.asarray(np.nan_to_num(gain, nan=0.0, posinf=0.0), dtype=np.float64)


def _most_promising(bench: Bench, found: Ranked) -> list[tuple[Tried, list[Fault]]]:
    """First faults with the second's sizes to be tried, each pair of movers once, those that promise most first."""
    movers = _movers(found)
    promised: dict[frozenset[Mover], tuple[float, Tried, list[Fault]]] = {}
    for first in _firsts(found):
        families = [family for family in movers.values() if _can_meet(first.fault, family[0])]
        if not families:
            continue
        gains = _promises(bench, first, [family[-1] for family in families])
        for family, gain in zip(families, gains, strict=True):
            key, left = frozenset((_mover(first.fault), _mover(family[0]))), first.score - float(gain)
            if key not in promised or left < promised[key][0]:
                promised[key] = left, first, family
    best = sorted(promised.values(), key=lambda one: one[0])[:_PAIRS]
    return [(first, family) for _left, first, family in best]


def _solved(bench: Bench, pairs: Sequence[tuple[tuple[Fault, ...], Array]]) -> dict[frozenset[Mover], Tried]:
    """The best of each pair of movers, each solved from the unknowns that stand beside it."""
    best: dict[frozenset[Mover], Tried] = {}
    for one in solved(bench, [faults for faults, _x in pairs], np.array([x for _faults, x in pairs])):
        key = frozenset(_mover(fault) for fault in one.faults)
        if key not in best or one.score < best[key].score:
            best[key] = one
    return best


def _stepped(fault: Fault, by: float, allowed: Mapping[str, float], family: list[Fault]) -> Fault | None:
    """The fault at so many times its size; None where it is no such fault then, or none that was asked for."""
    if by == 1.0:
        return fault
    if fault.size is None or fault.volts or fault.kind not in _STEPS:
        return None
    size = fault.size * by
    sizes = [one.size for one in family if one.kind == fault.kind and one.size is not None]
    # Beyond the largest open nothing passes, across the least short nothing drops; the rest goes little beyond what is tried.
    beyond = 1.0 if fault.kind in ("open", "short") else _BEYOND
    if not min(sizes) / beyond <= size <= max(sizes) * beyond:
        return None
    if fault.kind in ("drifted", "weak", "shifted") and abs(size - 1.0) <= allowed.get(fault.part, 0.0):
        return None
    stepped = replace(fault, size=size)
    return stepped if _mover(stepped) == _mover(fault) and (fault.kind != "weak" or size < 1.0) else None


def _walked(bench: Bench, found: Ranked, best: dict[frozenset[Mover], Tried]) -> list[Tried]:
    """Both sizes of every pair walked to where the likelihood is greatest: a step each way, halved where none is better."""
    movers, allowed = _movers(found), {one.name: one.fraction for one in bench.along}
    share = dict.fromkeys(best, 1.0)
    for _ in range(_WALKS):
        around: list[tuple[tuple[Fault, ...], Array]] = []
        for key, one in best.items():
            steps = [_STEPS.get(fault.kind, 1.0) ** share[key] for fault in one.faults]
            if max(steps) < _LEAST_STEP:
                continue
            for ups in itertools.product((-1, 0, 1), repeat=2):
                moved = [_stepped(fault, step**up, allowed, movers[_mover(fault)])
                         for fault, step, up in zip(one.faults, steps, ups, strict=True)]
                if any(ups) and None not in moved:
                    around.append((tuple(fault for fault in moved if fault is not None), one.x))
        tried = _solved(bench, around) if around else {}
        for key in best:
            if key in tried and tried[key].score < best[key].score:
                best[key] = tried[key]
            else:
                share[key] *= 0.5
    return sorted(best.values(), key=lambda one: one.score)


def propose_pairs(
    circuit: Circuit,
    readings: Mapping[str, float],
    *,
    faults: Wanted = None,
    tolerances: Mapping[str, float],
    uncertainty: float = 0.01,
    fits: float = FITS,
) -> tuple[PairProposal, ...]:
    """The pairs of faults that explain the readings best, best first; none where the readings need no fault or one explains
    them, and none where no pair does either: to explain is to leave at most `fits` standard deviations a reading.

    The other arguments as `propose`, and ElectricsError as it.  Up to 6 pairs, one for each two
    parts and the way that each goes.  A pair of which neither fault is among the first by itself is not found.
    """
    bench = bench_of(circuit, readings, tolerances, uncertainty)
    fits = within("fits", fits, 0.0, 1e3)
    found = ranked(bench, circuit, faults)
    if found is None or any(misfit(bench, one) <= fits for one in found.best):
        return ()
    asked = [((first.fault, second), first.x) for first, family in _most_promising(bench, found) for second in family]
    if not asked:
        return ()
    best = [one for one in _walked(bench, found, _solved(bench, asked)) if misfit(bench, one) <= fits][:_TOLD]
    node = apart(bench, best[:5])
    return tuple(PairProposal(tuple((fault.part, fault.kind, said_size(fault)) for fault in one.faults), misfit(bench, one),
                              explained(bench, one), volts_of(bench, one), node) for one in best)
