"""Steps in the making: named once, joined by edges that know why, and at the end without the edges that others imply."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from app.reassembly.planner.reasons import Reason, Strength, sentence
from app.reassembly.planner.steps import Step, from_graph, graph_of, topological

# What a draft is and whose: ("BODY", "P1"), ("TG", "SK").
Key = tuple[str, str]


@dataclass(frozen=True)
class Edge:
    """Why a draft waits for another."""

    rule: str
    records: tuple[str, ...]
    strength: Strength


@dataclass
class Draft:
    """A step whose needs are still being gathered. `subject` and `awaited`: how a sentence names it."""

    step: Step
    subject: str
    awaited: str
    rank: int = 1
    needs: dict[Key, Edge] = field(default_factory=dict)


class Drafts:
    """All drafts of a job. A step's id never changes when later removals join the ledger."""

    def __init__(self) -> None:
        self._drafts: dict[Key, Draft] = {}
        self._then: dict[Key, dict[Key, None]] = {}
        self._ids: set[str] = set()

    def __contains__(self, key: Key) -> bool:
        return key in self._drafts

    def add(self, key: Key, step: Step, *, subject: str = "", awaited: str = "", rank: int = 1) -> Key:
        """Add a step once. First in the ledger has the short id; the next is told apart by its owner."""
        if key not in self._drafts:
            name = step.id
            if name in self._ids:
                name = f"{step.id}_{key[1]}"
            number = 2
            while name in self._ids:
                name, number = f"{step.id}_{key[1]}_{number}", number + 1
            self._ids.add(name)
            words = step.label or name
            self._drafts[key] = Draft(replace(step, id=name), subject or f"“{words}”", awaited or f"“{words}”", rank)
            self._then[key] = {}
        return key

    def join(self, before: Iterable[Key], then: Iterable[Key], rule: str, records: tuple[str, ...] = (),
             strength: Strength = Strength.USUAL) -> None:
        """Every draft of `then` waits for every one of `before`; those that do not exist are left out.

        Of two reasons for one edge the stronger stays.
        """
        first = [key for key in before if key in self._drafts]
        edge = Edge(rule, records, strength)
        for key in then:
            if key not in self._drafts:
                continue
            needs = self._drafts[key].needs
            for need in first:
                if need != key and (need not in needs or needs[need].strength < strength):
                    needs[need] = edge
                    self._then[need][key] = None

    def cut(self, before: Key, then: Key) -> None:
        """Take one edge out."""
        del self._drafts[then].needs[before]
        del self._then[before][then]

    def change(self, key: Key, *, unit: str | None) -> None:
        """Take a draft out of its unit, or put it into one."""
        self._drafts[key].step = replace(self._drafts[key].step, unit=unit)

    def drop(self, key: Key) -> None:
        """Take out a draft that nothing waits for. Its id stays taken."""
        for need in self._drafts[key].needs:
            del self._then[need][key]
        del self._drafts[key], self._then[key]

    def ends(self, keys: Iterable[Key]) -> set[Key]:
        """Those of the keys that no other of them waits for."""
        among = {key for key in keys if key in self._drafts}
        needed = {need for key in among for need in self._drafts[key].needs}
        return among - needed

    def behind(self, keys: Iterable[Key]) -> set[Key]:
        """The keys and all drafts that wait for any of them, directly or not."""
        found = set(keys)
        heap = list(found & self._then.keys())
        while heap:
            fresh = self._then[heap.pop()].keys() - found
            found |= fresh
            heap += fresh
        return found

    def before(self, keys: Iterable[Key]) -> set[Key]:
        """All drafts that the keys wait for, directly or not."""
        found: set[Key] = set()
        heap = list(keys)
        while heap:
            fresh = self._drafts[heap.pop()].needs.keys() - found
            found |= fresh
            heap += fresh
        return found

    def needs(self, key: Key) -> dict[Key, Edge]:
        """What a draft waits for, and why."""
        return self._drafts[key].needs

    def proofs_of(self, keys: set[Key]) -> set[Key]:
        """The measurements that wait for any of the keys themselves."""
        return {key for key, draft in self._drafts.items() if draft.step.proof and draft.needs.keys() & keys}

    def step(self, key: Key) -> Step:
        """The step of a draft, without its needs."""
        return self._drafts[key].step

    def of_unit(self, unit: str | None) -> set[Key]:
        """All drafts of a unit."""
        return {key for key, draft in self._drafts.items() if draft.step.unit == unit}

    def every(self) -> set[Key]:
        """All drafts."""
        return set(self._drafts)

    def in_order(self) -> tuple[Key, ...]:
        """All drafts as they were added."""
        return tuple(self._drafts)

    def say(self, before: Key, then: Key) -> Reason:
        """Why `then` waits for `before`."""
        edge = self._drafts[then].needs[before]
        words = sentence(self._drafts[then].subject, self._drafts[before].awaited, edge.rule)
        return Reason(self._drafts[before].step.id, edge.rule, edge.records, words[0].upper() + words[1:], edge.strength)

    def steps(self) -> tuple[Step, ...]:
        """The steps, without needs that other needs imply, heavy before fragile; raises CircularSteps.

        Each carries the reasons of all its needs, the implied ones too.
        """
        names = {key: draft.step.id for key, draft in self._drafts.items()}
        place = {name: position for position, name in enumerate(names.values())}
        full = {
            names[key]: sorted((names[need] for need in draft.needs), key=place.__getitem__)
            for key, draft in self._drafts.items()
        }
        kept = reduced(full)
        ranked = sorted(self._drafts.items(), key=lambda item: item[1].rank)
        return tuple(replace(draft.step, after=kept[draft.step.id], reasons=tuple(self.say(need, key) for need in draft.needs))
                     for key, draft in ranked)


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
