"""The plan: what to do next, what waits for what, and how long it takes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from heapq import heapify, heappop, heappush

from app.reassembly.planner.changes import Changes, Costs, changes, costs_of
from app.reassembly.planner.greedy import RULES, greedy, starts
from app.reassembly.planner.search import search
from app.reassembly.planner.steps import Graph, Step, Steps, UnknownStep, graph_of, id_of, topological

# Orders tried times steps: keeps a very large job within half a second.
_EFFORT = 9_000
_HASTE = 2


@dataclass(frozen=True)
class Plan:
    """A valid order of the steps still to be done.

    `steps`: that order. `ready`: ids that can be done now. `waiting`: of the rest, id → ids it waits for.
    `minutes`: attended work. `elapsed_minutes`: until everything is done and dry, for one pair of hands that
    follows the order and, where the next step waits for something to dry, does the next one that can be done.
    `critical_path`: ids of the longest chain of attended and unattended minutes. `changes`: what the order
    costs.
    """

    steps: tuple[Step, ...]
    ready: tuple[str, ...]
    waiting: Mapping[str, tuple[str, ...]]
    minutes: float
    elapsed_minutes: float
    critical_path: tuple[str, ...]
    changes: Changes

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids of `steps`."""
        return tuple(step.id for step in self.steps)


def plan(steps: Steps, *, done: Iterable[Step | str] = ()) -> Plan:
    """Put the steps that are not done in a valid order with few changes of side, then of place.

    Steps of a unit stay together wherever that is possible at all. Up to 400 steps the order is the best if a
    short search can prove it, else the best of several good ones. What is `done` counts as done even
    if it was done too early. Raises CircularSteps, UnknownStep, DoubleStep.
    """
    whole = graph_of(steps)
    topological(whole)
    finished = set()
    for name in map(id_of, done):
        if name not in whole.number:
            raise UnknownStep(name, "done")
        finished.add(name)
    open_steps = [step for step in whole.steps if step.id not in finished]
    graph = graph_of(_without(step, finished) for step in open_steps) if finished else whole
    order = _best_order(graph)
    ordered = tuple(open_steps[index] for index in order)
    waits = {graph.steps[index].id: graph.steps[index].after for index in order}
    return Plan(
        steps=ordered,
        ready=tuple(name for name, needs in waits.items() if not needs),
        waiting={name: needs for name, needs in waits.items() if needs},
        minutes=float(sum(step.minutes for step in ordered)),
        elapsed_minutes=_elapsed(graph, order),
        critical_path=_longest_chain(graph),
        changes=changes(ordered),
    )


def _without(step: Step, finished: set[str]) -> Step:
    return replace(step, after=tuple(name for name in step.after if name not in finished))


def _best_order(graph: Graph) -> list[int]:
    costs = costs_of(graph)
    orders = _good_orders(costs)
    found = search(costs) or search(costs, haste=_HASTE)
    if found is not None:
        orders.append(found)
    fewest = min(_changes(graph, order) for order in orders)
    equals = [order for order in orders if _changes(graph, order) == fewest]
    return min(equals, key=lambda order: _elapsed(graph, order)) if len(equals) > 1 else equals[0]


def _good_orders(costs: Costs) -> list[list[int]]:
    ways = [(rule, start) for start in [None, *starts(costs)] for rule in range(RULES)]
    allowed = max(1, _EFFORT // max(1, len(costs.keys)))
    return [greedy(costs, rule, start) for rule, start in ways[:allowed]]


def _changes(graph: Graph, order: list[int]) -> Changes:
    return changes(graph.steps[index] for index in order)


def _elapsed(graph: Graph, order: list[int]) -> float:
    """Minutes until the last step is done and dry."""
    rank = {index: position for position, index in enumerate(order)}
    waits = [len(row) for row in graph.before]
    offered = [(rank[index], index) for index, count in enumerate(waits) if count == 0]
    heapify(offered)
    drying: list[tuple[float, int]] = []
    now = end = 0.0
    while offered or drying:
        if not offered:
            now = max(now, drying[0][0])
        while drying and drying[0][0] <= now:
            for follower in graph.then[heappop(drying)[1]]:
                waits[follower] -= 1
                if waits[follower] == 0:
                    heappush(offered, (rank[follower], follower))
        if offered:
            index = heappop(offered)[1]
            now += graph.steps[index].minutes
            ends = now + graph.steps[index].unattended_minutes
            end = max(end, ends)
            heappush(drying, (ends, index))
    return end


def _longest_chain(graph: Graph) -> tuple[str, ...]:
    """The chain with the most minutes; of equals, the one of most steps."""
    length: dict[int, tuple[float, int]] = {}
    came_by: dict[int, int] = {}
    for index in topological(graph):
        step = graph.steps[index]
        so_far = (0.0, 0)
        for need in graph.before[index]:
            if length[need] > so_far:
                so_far, came_by[index] = length[need], need
        length[index] = (so_far[0] + step.minutes + step.unattended_minutes, so_far[1] + 1)
    if not length:
        return ()
    at: int | None = max(length, key=lambda index: (length[index], -index))
    chain: list[str] = []
    while at is not None:
        chain.append(graph.steps[at].id)
        at = came_by.get(at)
    return tuple(reversed(chain))
