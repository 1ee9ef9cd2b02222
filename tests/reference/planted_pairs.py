"""Plant two faults at once in simulated amplifiers, and see whether they are among the first three pairs proposed.

python -m tests.reference.planted_pairs [how many]: the table by circuit.  As `planted`: parts within their tolerances,
readings within the meter's uncertainty, three nodes of four read.  A pair of which one fault moves no reading by more than
the meter can see while the other is there is drawn again: these readings say nothing of it.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from dataclasses import dataclass

import numpy as np

from app.electrics import ElectricsError, propose, propose_pairs
from app.electrics.circuit.faults import Fault, applied
from app.electrics.circuit.newton import settle
from app.electrics.circuit.pairs import FITS
from app.electrics.circuit.parts import Circuit
from app.electrics.circuit.system import build
from app.electrics.circuit.wander import directions, drawn
from tests.reference import planted


@dataclass(frozen=True)
class Bench:
    """An amplifier with two faults, and what the meter said."""

    circuit: Circuit
    faults: tuple[Fault, Fault]
    readings: dict[str, float]


def bench(name: str, number: int) -> Bench | None:
    """One amplifier of a family; None where one of the two does not show beside the other."""
    rng = random.Random(f"two in {name} {number}")
    circuit = planted.FAMILIES[name](rng)
    system = build(circuit)
    inside, _moved = drawn(system.nominal, directions(system, planted.TOLERANCES), 1, rng.randrange(10**9))
    first, second = planted.drawn_fault(circuit, rng), planted.drawn_fault(circuit, rng)
    if first.part == second.part:
        return None
    try:
        one, other, both = (settle(system, applied(system, inside, [faults]))[0, : len(system.nodes)]
                            for faults in ((first,), (second,), (first, second)))
    except ElectricsError:
        return None
    noise = np.random.default_rng(rng.randrange(10**9)).normal(0.0, 1.0, len(both))
    read = both + noise * np.hypot(0.5 * planted.UNCERTAINTY * np.abs(both), 1e-3)
    nodes = [at for at in range(len(system.nodes)) if rng.random() < 0.75] or [0]
    for alone in (one, other):
        if not (np.abs(both - alone)[nodes] > 0.1 * np.abs(alone)[nodes] + 0.1).any():
            return None
    return Bench(circuit, (first, second), {system.nodes[at]: float(read[at]) for at in nodes})


def same(kind: str, planted_kind: str) -> bool:
    """Whether two kinds of fault of one part are the same finding."""
    return kind == planted_kind or {kind, planted_kind} <= planted.NEAR


def single_fits(circuit: Circuit, readings: dict[str, float]) -> bool:
    """Whether one fault, or none, explains them."""
    found = propose(circuit, readings, tolerances=planted.TOLERANCES, uncertainty=planted.UNCERTAINTY)
    return not found or min(one.misfit for one in found) <= FITS


def pairs_of(circuit: Circuit, readings: dict[str, float]) -> list[dict[str, str]]:
    """The kinds by part of each pair proposed."""
    found = propose_pairs(circuit, readings, tolerances=planted.TOLERANCES, uncertainty=planted.UNCERTAINTY)
    return [{part: kind for part, kind, _size in one.faults} for one in found]


def place(made: Bench) -> int | None:
    """Where among the pairs the planted one stands, the first is 1; None where it is not told."""
    for number, pair in enumerate(pairs_of(made.circuit, made.readings), 1):
        if all(fault.part in pair and same(pair[fault.part], fault.kind) for fault in made.faults):
            return number
    return None


def main(count: int) -> None:
    """Print the table."""
    tried: Counter[str] = Counter()
    single: Counter[str] = Counter()
    none: Counter[str] = Counter()
    hits: Counter[str] = Counter()
    longest, spent, amps, number, alone, wrongly = 0.0, 0.0, 0.0, 0, 0, 0
    while tried.total() < count:
        name = list(planted.FAMILIES)[number % len(planted.FAMILIES)]
        made = bench(name, number)
        one = planted.bench(name, number, sound=False)
        number += 1
        if one is not None:
            alone += 1
            wrongly += bool(pairs_of(one.circuit, one.readings))
        if made is None:
            continue
        tried[name] += 1
        if single_fits(made.circuit, made.readings):
            single[name] += 1
            continue
        start = time.process_time()
        at = place(made)
        took = time.process_time() - start
        longest, spent = max(longest, took), spent + took
        amps = max(amps, took if name == "amplifier" else 0.0)
        hits[name] += at is not None and at <= 3
        none[name] += at is None
    for name in tried:
        left = tried[name] - single[name]
        print(f"{name:16} {tried[name]:4} planted, one fault explains {single[name]:3}; of the other {left:3}: "
              f"{hits[name]:3} among the first three ({hits[name] / max(left, 1):.1%}), {none[name]} not told")
    left = tried.total() - single.total()
    print(f"all {tried.total()}: {hits.total()} of {left}, {hits.total() / left:.1%}; a pair offered for {wrongly} of {alone} "
          f"single faults; {spent / left:.2f} s in the mean, {amps:.2f} s a whole amplifier at most, {longest:.2f} s the longest")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
