"""The fewest turn-overs that any order of a small job can have, by trying every state; and how the planner compares.

By hand: `python -m tests.reassembly.optimum [jobs of each size]` prints a table of random strip-downs of 2 to 9 bodies. The optimum
knows nothing of the planner's own search: it goes through every set of steps that can be done so far, step by step, and
keeps the cheapest way to each place that one can stand at.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterable, Sequence

from app.reassembly.planner import Changes, Removal, Step, plan, steps_for
from app.reassembly.planner.changes import changes, costs_of
from app.reassembly.planner.greedy import RULES, greedy, starts
from app.reassembly.planner.steps import graph_of

SIDES = ("outside", "inside", "top", "under")
PLACES = (None, "front", "rear", "mains corner", "along the bases")
Spot = tuple[str | None, str | None, str | None]
POT = ("knob", "nut", "flat washer", "chassis", "toothed washer", "body")


def strip_down(bodies: int, seed: int) -> list[Removal]:
    """So many things that came off: parts, covers, pots, base, bolts, some under others, in some jobs a sub-assembly."""
    pick = random.Random(seed)
    found: list[Removal] = []
    for number in range(bodies):
        kind = pick.choice(("part", "part", "part", "control", "cover", "bolt", "valve_base", "wire"))
        over = [one.id for one in found if one.kind not in ("wire", "control")]
        under = tuple(pick.sample(over, min(len(over), pick.choice((0, 0, 1, 1, 2)))))
        stack = POT if kind == "control" else ("flat washer", "chassis", "nut") if kind == "bolt" else ()
        found.append(Removal(f"B{number}", label=f"{kind} B{number}", kind=kind, seq=number + 1, side=pick.choice(SIDES),
                             place=pick.choice(PLACES), unit="board" if seed % 3 == 0 and number < 3 else None, under=under,
                             stack=stack))
    return found


def optimum(steps: Sequence[Step]) -> Changes:
    """The cheapest order there is, compared as `Changes` are: units taken up again, then turn-overs, then changes of place."""
    number = {step.id: index for index, step in enumerate(steps)}
    needs = [sum(1 << number[need] for need in step.after) for step in steps]
    here: dict[tuple[int, Spot], tuple[int, int, int]] = {(0, (None, None, None)): (0, 0, 0)}
    for _ in steps:
        there: dict[tuple[int, Spot], tuple[int, int, int]] = {}
        for (done, spot), paid in here.items():
            for index, step in enumerate(steps):
                if done >> index & 1 or needs[index] & ~done:
                    continue
                key = (done | 1 << index, (step.unit, step.side or spot[1], step.place or spot[2]))
                cost = tuple(one + more for one, more in zip(paid, _dear(step, spot), strict=True))
                if key not in there or cost < there[key]:
                    there[key] = cost  # type: ignore[assignment]
        here = there
    runs, sides, places = min(here.values())
    return Changes(runs - len({step.unit for step in steps} - {None}), sides, places)


def _dear(step: Step, spot: Spot) -> tuple[int, int, int]:
    unit, side, place = spot
    return (int(step.unit is not None and step.unit != unit), int(None not in (step.side, side) and step.side != side),
            int(None not in (step.place, place) and step.place != place))


def fast(steps: Iterable[Step]) -> Changes:
    """The best of the planner's fast orders alone, as a job of many hundred steps gets it."""
    costs = costs_of(graph_of(steps))
    orders = [greedy(costs, rule, start) for start in [None, *starts(costs)] for rule in range(RULES)]
    return min(changes(costs.graph.steps[index] for index in order) for order in orders)


def main(jobs: int) -> None:
    """A line for each size: how many plans have as few turn-overs as any order can, and the worst of those that have more."""
    print(f"{'bodies':>6} {'steps':>7} {'jobs':>5} {'plan = best':>12} {'plan worst':>11} {'fast = best':>12} {'fast worst':>11}"
          f" {'best turn-overs, mean':>22}")
    for bodies in range(2, 10):
        rows = []
        for seed in range(jobs):
            steps = steps_for(strip_down(bodies, seed))
            rows.append((len(steps), optimum(steps).sides, plan(steps).changes.sides, fast(steps).sides))
        over = [(planned - best, quick - best) for _, best, planned, quick in rows]
        print(f"{bodies:6} {f'{min(row[0] for row in rows)}–{max(row[0] for row in rows)}':>7} {jobs:5} "
              f"{sum(one == 0 for one, _ in over):12} {max(one for one, _ in over):+11} {sum(one == 0 for _, one in over):12} "
              f"{max(one for _, one in over):+11} {sum(row[1] for row in rows) / jobs:22.2f}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
