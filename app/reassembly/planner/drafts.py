"""Steps in the making: named once, joined by edges, and at the end without the edges that others imply."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from app.reassembly.planner.steps import Step, from_graph, graph_of, topological

# What a draft is and whose: ("BODY", "P1"), ("TG", "SK").
Key = tuple[str, str]


@dataclass
class Draft:
    """A step whose needs are still being gathered."""

    step: Step
    needs: set[Key] = field(default_factory=set)


class Drafts:
    """All drafts of a job. A step's id never changes when later removals join the ledger."""

    def __init__(self) -> None:
        self._drafts: dict[Key, Draft] = {}
        self._ids: set[str] = set()

    def __contains__(self, key: Key) -> bool:
        return key in self._drafts

    def add(self, key: Key, step: Step) -> Key:
        """Add a step once. First in the ledger has the short id; the next is told apart by its owner."""
        if key not in self._drafts:
            name = step.id
            if name in self._ids:
                name = f"{step.id}_{key[1]}"
            number = 2
            while name in self._ids:
                name, number = f"{step.id}_{key[1]}_{number}", number + 1
            self._ids.add(name)
            self._drafts[key] = Draft(replace(step, id=name))
        return key

    def join(self, before: Iterable[Key], then: Iterable[Key]) -> None:
        """Every draft of `then` waits for every one of `before`; those that do not exist are left out."""
        first = {key for key in before if key in self._drafts}
        for key in then:
            if key in self._drafts:
                self._drafts[key].needs |= first - {key}

    def drop(self, key: Key) -> None:
        """Take out a draft that nothing waits for. Its id stays taken."""
        del self._drafts[key]

    def ends(self, keys: Iterable[Key]) -> set[Key]:
        """Those of the keys that no other of them waits for."""
        among = {key for key in keys if key in self._drafts}
        needed = {need for key in among for need in self._drafts[key].needs}
        return among - needed

    def behind(self, keys: Iterable[Key]) -> set[Key]:
        """The keys and all drafts that wait for any of them, directly or not."""
        found = set(keys)
        grown = True
        while grown:
            more = {key for key, draft in self._drafts.items() if key not in found and draft.needs & found}
            found |= more
            grown = bool(more)
        return found

    def before(self, keys: Iterable[Key]) -> set[Key]:
        """All drafts that the keys wait for, directly or not."""
        found: set[Key] = set()
        heap = list(keys)
        while heap:
            fresh = self._drafts[heap.pop()].needs - found
            found |= fresh
            heap += fresh
        return found

    def proofs_of(self, keys: set[Key]) -> set[Key]:
        """The measurements that wait for any of the keys themselves."""
        return {key for key, draft in self._drafts.items() if draft.step.proof and draft.needs & keys}

    def step(self, key: Key) -> Step:
        """The step of a draft, without its needs."""
        return self._drafts[key].step

    def of_unit(self, unit: str | None) -> set[Key]:
        """All drafts of a unit."""
        return {key for key, draft in self._drafts.items() if draft.step.unit == unit}

    def every(self) -> set[Key]:
        """All drafts."""
        return set(self._drafts)

    def steps(self) -> tuple[Step, ...]:
        """The steps, without needs that other needs imply; raises CircularSteps."""
        names = {key: draft.step.id for key, draft in self._drafts.items()}
        rank = {name: position for position, name in enumerate(names.values())}
        full = {
            names[key]: sorted((names[need] for need in draft.needs), key=rank.__getitem__)
            for key, draft in self._drafts.items()
        }
        kept = reduced(full)
        return tuple(replace(draft.step, after=kept[draft.step.id]) for draft in self._drafts.values())


def reduced(graph: dict[str, list[str]]) -> dict[str, tuple[str, ...]]:
    """The same order with no edge that others imply; raises CircularSteps."""
    numbered = graph_of(from_graph(graph))
    order = topological(numbered)
    rank = {index: position for position, index in enumerate(order)}
    earlier = [0] * len(order)
    kept: dict[str, tuple[str, ...]] = {}
    for index in order:
        keep = set()
        for need in sorted(numbered.before[index], key=lambda each: -rank[each]):
            if not earlier[index] >> need & 1:
                keep.add(need)
            earlier[index] |= earlier[need] | 1 << need
        step = numbered.steps[index]
        kept[step.id] = tuple(name for name in step.after if numbered.number[name] in keep)
    return kept
