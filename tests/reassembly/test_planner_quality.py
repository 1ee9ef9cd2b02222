"""How near the fast order comes to the best one (computed: the exact search, itself held to every permutation)."""

from __future__ import annotations

import random
from itertools import permutations
from statistics import fmean

import pytest

from app.reassembly.planner import Changes, Step, changes, plan, steps_for
from app.reassembly.planner.changes import Costs, after, costs_of
from app.reassembly.planner.greedy import RULES, greedy, starts
from app.reassembly.planner.search import search
from app.reassembly.planner.steps import graph_of

from .optimum import fast as quick
from .optimum import optimum, strip_down


def job(count: int, seed: int) -> list[Step]:
    """Steps on three sides and four places, in every second job with a unit that stays together."""
    pick = random.Random(seed)
    steps = []
    for index in range(count):
        needs = pick.sample(range(index), min(index, pick.choice([0, 1, 1, 2])))
        steps.append(
            Step(
                f"s{index}",
                after=tuple(f"s{need}" for need in needs),
                unit="u" if seed % 2 and index >= count - 3 else None,
                side=pick.choice(["outside", "inside", "top"]),
                place=pick.choice([None, "p", "q", "r", "s"]),
            )
        )
    pick.shuffle(steps)
    return steps


def fast(costs: Costs) -> Changes:
    """The best of the fast orders alone, as a job of many hundred steps gets it."""
    orders = [greedy(costs, rule, start) for start in [None, *starts(costs)] for rule in range(RULES)]
    return min(changes(costs.graph.steps[index] for index in order) for order in orders)


def best(costs: Costs) -> Changes:
    order = search(costs)
    assert order is not None
    return changes(costs.graph.steps[index] for index in order)


def weight(count: Changes) -> int:
    """Stretches of work on one side, each unit taken up again counting as one more."""
    return 1 + count.unit_breaks + count.sides


def test_the_fast_order_is_within_five_per_cent_of_the_best_on_average() -> None:
    ratios = []
    for seed in range(120):
        costs = costs_of(graph_of(job(4 + seed % 5, seed)))
        ratios.append(weight(fast(costs)) / weight(best(costs)))
    assert min(ratios) == 1.0
    assert fmean(ratios) < 1.05
    assert max(ratios) <= 2.0


def test_a_plan_of_a_small_job_is_the_best() -> None:
    for seed in range(60):
        steps = job(8, seed)
        assert plan(steps).changes == best(costs_of(graph_of(steps)))


def test_haste_gives_a_valid_order_no_better_than_the_best() -> None:
    for seed in range(20):
        costs = costs_of(graph_of(job(8, seed)))
        order = search(costs, haste=3)
        assert order is not None and sorted(order) == list(range(8))
        assert changes(costs.graph.steps[index] for index in order) >= best(costs)


def test_what_the_search_pays_for_an_order_is_what_its_changes_cost() -> None:
    """Places and sides named early or late in the list cost alike, in either direction."""
    for seed in range(0, 40, 2):
        steps = [Step(each.id, side=each.side, place=each.place) for each in job(12, seed)]
        costs, seen = costs_of(graph_of(steps)), changes(steps)
        here, paid = costs.keys[0], 0
        for there in costs.keys[1:]:
            paid, here = paid + costs.reach(here, there), after(here, there)
        assert paid == seen.sides * costs.side_cost + seen.places


@pytest.mark.parametrize("bodies", range(2, 10))
def test_a_strip_down_of_a_few_bodies_comes_back_with_the_fewest_turn_overs_there_are(bodies: int) -> None:
    """Against every order there is (computed by `optimum`, which shares nothing with the planner's search)."""
    for seed in range(5):
        steps = steps_for(strip_down(bodies, seed))
        best = optimum(steps)
        assert plan(steps).changes == best, seed
        assert quick(steps).sides <= best.sides + 2, seed


def test_the_optimum_is_that_of_every_permutation() -> None:
    for seed in range(12):
        steps = job(5, seed)
        number = {step.id: index for index, step in enumerate(steps)}
        orders = [order for order in permutations(steps)
                  if all(order.index(steps[number[need]]) < place for place, step in enumerate(order) for need in step.after)]
        assert optimum(steps) == min(changes(order) for order in orders)
