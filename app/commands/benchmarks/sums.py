"""The sums: one solution, ten thousand samples, a long way back."""

from __future__ import annotations

import graphlib
import random
from collections.abc import Iterator

from app.commands.benchmarks import sheet
from app.commands.benchmarks.figure import Figure, compare

STEPS = 5000
SAMPLES = 10_000


def figures() -> Iterator[Figure]:
    """Every figure of the pure packages, in turn."""
    yield from _supply()
    yield _bias()
    yield _stages()
    yield from sheet.figures()
    yield _planner()


def _supply() -> Iterator[Figure]:
    import numpy as np

    from app.electrics import capacitor_input

    draws = np.random.default_rng(1).random(100_000)

    def solve(drop: str | None = None) -> object:
        return capacitor_input(secondary_vrms=325.0, rectifier="full_wave_ct", source_ohm=100.0, reservoir_farad=47e-6,
                               mains_hz=50.0, load_a=0.1, drop=drop)

    def plain() -> object:
        return np.sort(draws)

    yield compare("a supply solved", solve, "numpy sorting 100000 numbers", plain)
    yield compare("the same with a rectifier valve", lambda: solve("GZ34"), "numpy sorting 100000 numbers", plain)


def _bias() -> Figure:
    import numpy as np

    from app.electrics import bias_volts

    draws = np.random.default_rng(3).uniform(0.9, 1.1, (6, SAMPLES))

    def many() -> object:
        return bias_volts(tap_vrms=50.0 * draws[0], mains_hz=50.0, series_ohm=470.0 * draws[1], reservoir_farad=50e-6 * draws[2],
                          range_ohm=27e3 * draws[3], pot_ohm=15e3 * draws[4], load_ohm=110e3 * draws[5], layout="divider")

    return compare(f"{SAMPLES} bias networks", many, "numpy sorting as many numbers, six times", lambda: np.sort(draws))


def _stages() -> Figure:
    import numpy as np

    from app.electrics import triode_stage_samples

    draws = np.random.default_rng(3).uniform(0.9, 1.1, (2, SAMPLES))

    def many() -> object:
        return triode_stage_samples(valve="12AX7", supply_v=300.0, anode_ohm=1e5 * draws[0], cathode_ohm=1500.0 * draws[1],
                                    next_grid_ohm=1e6)

    return compare(f"{SAMPLES} stages", many, "numpy sorting as many numbers, twice", lambda: np.sort(draws))


def _planner() -> Figure:
    from app.reassembly.planner import Step, plan

    pick = random.Random(7)  # noqa: S311 - no secret
    after = {f"s{n}": tuple(f"s{pick.randrange(n)}" for _ in range(pick.randrange(3))) if n else () for n in range(STEPS)}
    steps = [Step(one, after=before, side=pick.choice(("inside", "outside", "top")), place=f"p{pick.randrange(12)}", minutes=2.0)
             for one, before in after.items()]
    return compare(f"a way back of {STEPS} steps", lambda: plan(steps), "graphlib sorting them",
                   lambda: list(graphlib.TopologicalSorter(after).static_order()))
