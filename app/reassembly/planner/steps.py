"""A step of the way back, and what a set of steps may not be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from numbers import Real

from app.reassembly.planner.reasons import Reason


class PlanError(ValueError):
    """A set of steps that no order can be made of."""


class BadStep(PlanError):  # noqa: N818 - reads as what it is
    """A step with a field that cannot be meant: no id, negative minutes, a bare string as `after`."""

    def __init__(self, step: str, field: str, value: object, allowed: str) -> None:
        self.step = step
        self.field = field
        self.value = value
        super().__init__(f"Step {step!r}: {field} is {value!r}; it must be {allowed}.")


class UnknownStep(PlanError):  # noqa: N818 - a name others rely on
    """An id that no step (or removal) of the set has."""

    def __init__(self, unknown: str, named_by: str) -> None:
        self.unknown = unknown
        self.named_by = named_by
        super().__init__(f"{named_by} names {unknown!r}, which is not among the steps.")


class DoubleStep(PlanError):  # noqa: N818 - a name others rely on
    """An id that two steps (or removals) have."""

    def __init__(self, double: str) -> None:
        self.double = double
        super().__init__(f"{double!r} is there twice; each needs an id of its own.")


class CircularSteps(PlanError):  # noqa: N818 - a name others rely on
    """Steps that wait for one another in a circle.

    `members` are in doing order: each is needed before the next, and the last before the first.
    """

    def __init__(self, members: tuple[str, ...]) -> None:
        self.members = members
        super().__init__("These steps wait for one another: " + " → ".join((*members, members[0])) + ".")


@dataclass(frozen=True)
class Step:
    """One thing to do on the way back.

    `after`: ids that must be finished first. `unit`: a sub-assembly whose steps stay together. `side`
    ("outside", "inside", "top", "under") and `place`: what changing costs a turn-over or a reach; None means
    that either will do. `minutes` of attended work, then `unattended_minutes` of drying or curing that run by
    themselves; both zero or more. `proof`: a measurement or a count. `reasons`: why it waits for each of `after`,
    and for what those imply. `powered`: done with the mains on.
    """

    id: str
    label: str = ""
    after: tuple[str, ...] = ()
    unit: str | None = None
    side: str | None = None
    place: str | None = None
    minutes: float = 0.0
    unattended_minutes: float = 0.0
    proof: bool = False
    reasons: tuple[Reason, ...] = field(default=(), compare=False, repr=False)
    powered: bool = False

    def __post_init__(self) -> None:
        if not isinstance(self.id, str) or not self.id:
            raise BadStep(str(self.id), "id", self.id, "a word")
        object.__setattr__(self, "after", tuple(dict.fromkeys(several(self.id, "after", self.after))))
        for name in ("minutes", "unattended_minutes"):
            value = getattr(self, name)
            if isinstance(value, bool) or not isinstance(value, Real) or not 0 <= float(value) < math.inf:
                raise BadStep(self.id, name, value, "zero or more minutes")


# What a function that wants steps takes: steps, bare ids without needs, or id → ids that must come first.
Steps = Iterable[Step | str] | Mapping[str, Iterable[str]]


def several(owner: str, field: str, value: Iterable[str] | str) -> tuple[str, ...]:
    """A sequence of words as a tuple; a bare string, which would fall into letters, is refused."""
    if isinstance(value, str):
        raise BadStep(owner, field, value, "a sequence of words")
    return tuple(value)


def from_graph(graph: Mapping[str, Iterable[str]]) -> tuple[Step, ...]:
    """Steps from a mapping id → the ids that must be finished first."""
    return tuple(Step(name, after=tuple(before)) for name, before in graph.items())


def id_of(step: Step | str) -> str:
    """The id of a step that may be given as its id."""
    return step.id if isinstance(step, Step) else step


@dataclass(frozen=True)
class Graph:
    """Steps by number: who must be before whom."""

    steps: tuple[Step, ...]
    number: Mapping[str, int]
    before: Sequence[Sequence[int]]
    then: Sequence[Sequence[int]]


def graph_of(steps: Steps) -> Graph:
    """Number the steps; refuse a double id and one that no step has."""
    given = from_graph(steps) if isinstance(steps, Mapping) else steps
    listed = tuple(step if isinstance(step, Step) else Step(step) for step in given)
    number: dict[str, int] = {}
    for index, step in enumerate(listed):
        if step.id in number:
            raise DoubleStep(step.id)
        number[step.id] = index
    before: list[list[int]] = []
    then: list[list[int]] = [[] for _ in listed]
    for index, step in enumerate(listed):
        row = []
        for name in step.after:
            if name not in number:
                raise UnknownStep(name, step.id)
            row.append(number[name])
            then[number[name]].append(index)
        before.append(row)
    return Graph(listed, number, before, then)


def topological(graph: Graph) -> list[int]:
    """Numbers of the steps, each after all that it waits for; raises CircularSteps if there is none."""
    waits = [len(row) for row in graph.before]
    order = [index for index, count in enumerate(waits) if count == 0]
    for index in order:
        for follower in graph.then[index]:
            waits[follower] -= 1
            if waits[follower] == 0:
                order.append(follower)
    if len(order) < len(waits):
        raise CircularSteps(_circle(graph, {index for index, count in enumerate(waits) if count}))
    return order


def _circle(graph: Graph, stuck: set[int]) -> tuple[str, ...]:
    """Walk back along unmet needs until a step comes round again; the first in the list leads."""
    seen: dict[int, int] = {}
    path: list[int] = []
    here = min(stuck)
    while here not in seen:
        seen[here] = len(path)
        path.append(here)
        here = next(index for index in graph.before[here] if index in stuck)
    ring = path[seen[here] :][::-1]
    lead = ring.index(min(ring))
    return tuple(graph.steps[index].id for index in ring[lead:] + ring[:lead])
