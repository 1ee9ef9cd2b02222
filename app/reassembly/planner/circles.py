"""Steps that wait for one another: which records disagree, what the likely cure is, and a plan of the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.reassembly.planner.drafts import Drafts, Edge, Key
from app.reassembly.planner.reasons import Reason, Strength


@dataclass(frozen=True)
class Conflict:
    """Records that contradict each other.

    `members`: ids of the steps that wait for one another, each needed before the next, the last before the first.
    `reasons`: why, in the same order: the first is why the first member waits for the last. `records`: the marks of
    the two records that disagree, the likelier wrong one first. `cure`: what is likely to be mended. `left_out`:
    the reason that the plan goes without until then.
    """

    members: tuple[str, ...]
    reasons: tuple[Reason, ...]
    records: tuple[str, ...]
    cure: str
    left_out: Reason

    def __str__(self) -> str:
        others = (reason for reason in self.reasons if reason != self.left_out and set(reason.records) & set(self.records))
        other = next(others, None)
        why = " ".join(reason.words for reason in (self.left_out, other) if reason)
        who = f"{' and '.join(self.records)} contradict each other." if len(self.records) > 1 else "The plan contradicts itself."
        return f"{who} {why} {self.cure}"


def settle(drafts: Drafts, seq: Mapping[str, int], *, tolerate: bool) -> tuple[Conflict, ...]:
    """Let habits give way wherever they close a circle; then, if circles are tolerated, leave out one edge of each.

    `seq`: record → its number, so that of two equal reasons that of the later record gives way. With
    `tolerate=False` the first circle of records is returned and left as it is.
    """
    found: list[Conflict] = []
    while ring := _ring(drafts):
        edges = [(ring[index - 1], key, drafts.needs(key)[ring[index - 1]]) for index, key in enumerate(ring)]
        before, then, edge = min(edges, key=lambda each: (each[2].strength, -_latest(each[2], seq)))
        if edge.strength is not Strength.HABIT:
            found.append(_explained(drafts, edges, (before, then)))
            if not tolerate:
                break
        drafts.cut(before, then)
    return tuple(found)


def _latest(edge: Edge, seq: Mapping[str, int]) -> int:
    return max((seq.get(name, 0) for name in edge.records), default=0)


def _ring(drafts: Drafts) -> list[Key]:
    """One circle, each key needed before the next, the first added leading; empty if there is none."""
    order = drafts.in_order()
    state: dict[Key, int] = {}
    for start in order:
        if start in state:
            continue
        path: list[Key] = []
        heap: list[tuple[Key, bool]] = [(start, False)]
        while heap:
            key, leave = heap.pop()
            if leave:
                state[key] = 2
                path.pop()
                continue
            if key in state:
                continue
            state[key] = 1
            path.append(key)
            heap.append((key, True))
            for need in drafts.needs(key):
                if state.get(need) == 1:
                    ring = path[path.index(need):][::-1]
                    lead = min(range(len(ring)), key=lambda index: order.index(ring[index]))
                    return ring[lead:] + ring[:lead]
                if need not in state:
                    heap.append((need, False))
    return []


def _explained(drafts: Drafts, edges: list[tuple[Key, Key, Edge]], cut: tuple[Key, Key]) -> Conflict:
    reasons = tuple(drafts.say(before, then) for before, then, _ in edges)
    left_out = drafts.say(*cut)
    others = sorted((reason for reason in reasons if reason != left_out), key=lambda reason: reason.strength == Strength.USUAL)
    records = dict.fromkeys(left_out.records[:1])
    for reason in others:
        for record in reason.records:
            if len(records) < 2:
                records[record] = None
    members = tuple(drafts.step(then).id for _, then, _ in edges)
    return Conflict(members, reasons, tuple(records), _cure(reasons), left_out)


def _cure(reasons: tuple[Reason, ...]) -> str:
    rules = [reason.rule for reason in reasons]
    if rules.count("under") > 1:
        return "Correct what lay under what: one of the two records has it the wrong way round."
    if "under" in rules and {"fix-before-solder", "on-its-host"} & set(rules):
        return "If the joint is on the hidden side, mark that end as hidden; else correct what it lay under."
    if "under" in rules and "body-before-leads" in rules:
        return "Correct what it lay under, or on which side its leads are joined."
    if "under" in rules:
        return "Correct what it lay under."
    if "stack" in rules or "fixings" in rules:
        return "Correct the order of the stack, or what it is fixed to."
    if "clamped-end" in rules:
        return "Enter how the end was lifted: an end under a clamp goes in first, a soldered one last."
    return "Correct one of the two records."
