"""What is wrong with a proposed order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.reassembly.planner.steps import Step, Steps, graph_of, id_of, topological


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a proposed order.

    `kind`: "too_early" (with `lacks`, the step that should have come first), "left_out", "twice", "unknown".
    `position`: place in the sequence from 0; None for a step left out.
    """

    kind: str
    step: str
    lacks: str | None = None
    position: int | None = None

    def __str__(self) -> str:
        return {
            "too_early": f"{self.step} comes too early: {self.lacks} is not done yet.",
            "left_out": f"{self.step} is never done.",
            "twice": f"{self.step} is done twice.",
            "unknown": f"{self.step} is not a step of this job.",
        }[self.kind]


def check(
    sequence: Iterable[Step | str], steps: Steps, *, done: Iterable[Step | str] = ()
) -> tuple[Fault, ...]:
    """Every fault of a proposed order of steps (ids or Steps); empty when the order is right and whole.

    `done`: steps finished before the sequence begins. Raises UnknownStep, DoubleStep or CircularSteps if
    `steps` themselves are wrong: no order of a circle is right.
    """
    graph = graph_of(steps)
    topological(graph)
    finished = {id_of(step) for step in done}
    faults: list[Fault] = []
    for position, name in enumerate(map(id_of, sequence)):
        if name not in graph.number:
            faults.append(Fault("unknown", name, position=position))
            continue
        if name in finished:
            faults.append(Fault("twice", name, position=position))
            continue
        for predecessor in graph.steps[graph.number[name]].after:
            if predecessor not in finished:
                faults.append(Fault("too_early", name, lacks=predecessor, position=position))
        finished.add(name)
    faults += [Fault("left_out", step.id) for step in graph.steps if step.id not in finished]
    return tuple(faults)
