"""What an order costs: units left and taken up again, turn-overs, changes of place.

Costs compare in that order, so one number holds all three: a place counts 1, a side more than all places
together, a unit more than all sides together.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass

from app.reassembly.planner.steps import Graph, Step, topological

ANY = -1
State = tuple[int, int, int]
START: State = (ANY, ANY, ANY)


@dataclass(frozen=True, order=True)
class Changes:
    """`unit_breaks`: times a unit was left unfinished and taken up again; then turn-overs, then moves."""

    unit_breaks: int
    sides: int
    places: int


def changes(order: Iterable[Step]) -> Changes:
    """Count the changes of an order. A step without a side or place is done wherever one happens to be."""
    runs = sides = places = 0
    units: set[str] = set()
    unit: str | None = None
    side: str | None = None
    place: str | None = None
    for step in order:
        if step.unit is not None:
            runs += step.unit != unit
            units.add(step.unit)
        sides += None not in (step.side, side) and step.side != side
        places += None not in (step.place, place) and step.place != place
        unit, side, place = step.unit, step.side or side, step.place or place
    return Changes(runs - len(units), sides, places)


class Costs:
    """The steps of a graph as (unit, side, place) numbers, with the cost of going from one to the next."""

    def __init__(self, graph: Graph, order: list[int]) -> None:
        steps = graph.steps
        self.graph = graph
        self.side_cost = len(steps) + 1
        self.unit_cost = self.side_cost**2
        units, sides, places = (
            _numbers(getattr(step, field) for step in steps) for field in ("unit", "side", "place")
        )
        self.keys: list[State] = list(zip(units, sides, places, strict=True))
        self.tail = self._tails(order)
        self.urgency = self._urgencies(order)

    def reach(self, here: State, there: State) -> int:
        """Cost of the change of side and place alone."""
        cost = self.side_cost if there[1] != here[1] and ANY not in (there[1], here[1]) else 0
        return cost + (there[2] != here[2] and ANY not in (there[2], here[2]))

    def move(self, here: State, there: State) -> int:
        """Cost of doing a step with the key `there` next."""
        return self.reach(here, there) + (self.unit_cost if there[0] not in (ANY, here[0]) else 0)

    def _tails(self, order: list[int]) -> list[int]:
        """For each step the dearest chain of changes that must still follow it: a lower bound."""
        tail = [0] * len(order)
        for index in reversed(order):
            key = self.keys[index]
            for follower in self.graph.then[index]:
                cost = tail[follower] + self.reach(key, self.keys[follower])
                if cost > tail[index]:
                    tail[index] = cost
        return tail

    def _urgencies(self, order: list[int]) -> list[float]:
        """Minutes of the longest chain from a step on, if anything in it dries by itself; else 0."""
        urgency = [0.0] * len(order)
        for index in reversed(order):
            step = self.graph.steps[index]
            longest = max((urgency[follower] for follower in self.graph.then[index]), default=0.0)
            if longest or step.unattended_minutes:
                urgency[index] = longest + step.minutes + step.unattended_minutes
        return urgency


def after(here: State, there: State) -> State:
    """Where one is after a step with the key `there`."""
    return (
        there[0],
        here[1] if there[1] == ANY else there[1],
        here[2] if there[2] == ANY else there[2],
    )


def costs_of(graph: Graph) -> Costs:
    """Costs of a graph; raises CircularSteps."""
    return Costs(graph, topological(graph))


def _numbers(values: Iterable[Hashable | None]) -> list[int]:
    known: dict[Hashable, int] = {}
    return [ANY if value is None else known.setdefault(value, len(known)) for value in values]
