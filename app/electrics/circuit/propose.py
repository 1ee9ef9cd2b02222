"""Which single fault explains the readings of a circuit best, and which further reading would tell the best apart.

Every fault is solved, all of them at once, and weighed as `tried` says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.electrics.circuit.faults import Fault, FaultKind, hypotheses
from app.electrics.circuit.parts import Circuit
from app.electrics.circuit.tried import Bench, Tried, apart, bench_of, explained, finer, misfit, solved, sound, volts_of

BETTER = 4.0  # by how much d2 has to fall for a fault to be worth saying: two standard deviations of one reading
_ROUNDS, _KEPT, _TOLD = 5, 24, 12

Wanted = Iterable[str | tuple[str, str] | Fault] | None


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
class Ranked:
    """The single faults of a bench that were tried, best first. hypotheses: every fault with the sizes that were tried first."""

    sound: Tried
    best: tuple[Tried, ...]
    hypotheses: tuple[tuple[Fault, ...], ...]


def ranked(bench: Bench, circuit: Circuit, faults: Wanted) -> Ranked | None:
    """Every single fault at its best size, best first; None where the readings need no fault."""
    without = sound(bench)
    if without.d2 <= bench.sound_below:
        return None
    asked = hypotheses(circuit, faults, bench.along)
    families: dict[tuple[str, str], list[Tried]] = {}
    for one in solved(bench, [(fault,) for family in asked for fault in family]):
        families.setdefault((one.fault.part, one.fault.kind), []).append(one)
    for _ in range(_ROUNDS):
        first = sorted(families.values(), key=lambda family: min(one.score for one in family))[:_KEPT]
        for one in solved(bench, [fault for family in first for fault in finer(family)]):
            families[one.fault.part, one.fault.kind].append(one)
    best = sorted((min(family, key=lambda one: one.score) for family in families.values()), key=lambda one: one.score)
    return Ranked(without, tuple(best), tuple(tuple(family) for family in asked))


def propose(
    circuit: Circuit,
    readings: Mapping[str, float],
    *,
    faults: Wanted = None,
    tolerances: Mapping[str, float],
    uncertainty: float = 0.01,
) -> tuple[Proposal, ...]:
    """The single faults that explain the readings best, best first; none where the readings need no fault.

    readings: volts to node "0" by node; nodes that were not read are left out.  faults: None for every part's open,
    short, drifted, leaky, weak, gassy and shifted; else kinds, (part, kind) pairs, and `Fault`s whose effect on the
    sources was solved elsewhere (a dried reservoir, by `capacitor_input`).  tolerances as `expected`: what is within
    them is no fault.  uncertainty: the readings' expanded relative uncertainty (k = 2).

    "No fault" is said where a sound circuit reads like this in 99 of 100 cases; up to 12 faults are told else.
    Linear in the tolerances (at each fault's own point), normal in what is left; two faults at once are tried by
    `propose_pairs`.
    Raises ElectricsError as `solve` and `expected`, and for a reading at no node.
    """
    bench = bench_of(circuit, readings, tolerances, uncertainty)
    found = ranked(bench, circuit, faults)
    if found is None:
        return ()
    best = [one for one in found.best if one.d2 < found.sound.d2 - BETTER][:_TOLD]
    node = apart(bench, best[:5])
    return tuple(_said(bench, one, node) for one in best)


def said_size(fault: Fault) -> float | None:
    """The size that is told: that of an open or a short is only what was tried."""
    return None if fault.kind in ("open", "short") else fault.size


def _said(bench: Bench, one: Tried, node: str | None) -> Proposal:
    fault = one.fault
    return Proposal(fault.part, fault.kind, said_size(fault), misfit(bench, one), explained(bench, one), volts_of(bench, one), node)
