"""Hold an order to what any right order of a case keeps: our own restatement of the rules by which such cases are judged.

An event is (id, act): a thing with prep, fit, snug, tight, trim; "PART>HOST:PIN" with "in"; "HOST:PIN" with "join"; a proof with
"prove"; a count with "count". A must is kept *by an edge* when the step of its first event is one that the step of its second waits
for, directly or not (or both are one step, in that order); *by luck* when only the order happens to be right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

Case = Mapping[str, Any]
Event = tuple[str, str]


@dataclass
class Verdict:
    """What is wrong with an order, by kind."""

    broken: list[str] = field(default_factory=list)
    luck: list[str] = field(default_factory=list)
    absent: list[str] = field(default_factory=list)
    never: list[str] = field(default_factory=list)
    tied: list[str] = field(default_factory=list)
    twice: list[str] = field(default_factory=list)
    miscounted: list[str] = field(default_factory=list)
    kept: int = 0

    @property
    def faults(self) -> list[str]:
        return [*self.broken, *self.luck, *self.absent, *self.never, *self.tied, *self.twice, *self.miscounted]


def whole(case: Case) -> set[Event]:
    """Every event that a whole order does."""
    found: set[Event] = {(at, "join") for at in case["joints"]}
    for row in [*case["removals"], *case["new"]]:
        if row["fate"] in ("refit", "replace", "new"):
            found |= {(row["id"], act) for act in row["acts"]} | {(f"{row['id']}>{end['at']}", "in") for end in row["ends"]}
    found |= {(row["id"], "prove") for row in case["proofs"]} | {(row["id"], "count") for row in case["counts"]}
    return found


def waiting(graph: Mapping[str, Iterable[str]]) -> dict[str, set[str]]:
    """Step → every step that it waits for, directly or not."""
    found: dict[str, set[str]] = {}
    for start in graph:
        heap = [start]
        while heap:
            step = heap[-1]
            missing = [need for need in graph.get(step, ()) if need not in found]
            if missing:
                heap += missing
                continue
            heap.pop()
            found[step] = set(graph.get(step, ())).union(*(found[need] for need in graph.get(step, ())))
    return found


def judge(case: Case, order: Mapping[str, Any]) -> Verdict:
    """Everything that the case has to say about an order with its graph."""
    verdict = Verdict()
    spot: dict[Event, tuple[int, int]] = {}
    for number, step in enumerate(order["steps"]):
        for place, event in enumerate(step["does"]):
            if tuple(event) in spot:
                verdict.twice.append(f"{event} is done twice")
            spot[tuple(event)] = (number, place)
    names = [step["step"] for step in order["steps"]]
    behind = waiting(order["graph"])
    verdict.absent += [f"{event} is left out" for event in sorted(whole(case) - spot.keys())]
    for must in case["must"]:
        first, then = tuple(must["first"]), tuple(must["then"])
        if first in spot and then in spot:
            _judge_must(verdict, f"{must['id']} {must['rule']}: {first} before {then}", spot[first], spot[then], names, behind)
    for never in case["never"]:
        if "done" in never:
            verdict.never += [f"{never['words']}: done"] if tuple(never["done"]) in spot else []
        elif spot.get(tuple(never["lacks"]), (len(names), 0)) > spot.get(tuple(never["early"]), (len(names), 1)):
            verdict.never.append(never["words"])
    for free in case["free"]:
        if not all(tuple(event) in spot for event in free["pair"]):
            continue  # reported as left out
        one, other = (names[spot[tuple(event)][0]] for event in free["pair"])
        if one in behind[other] or other in behind[one]:
            verdict.tied.append(f"{free['id']} {free['words']}: {one}, {other}")
    figures = {row["id"]: row["pieces"] for row in case["counts"]}
    verdict.miscounted += [f"{step['step']}: {step['counted']}" for step in order["steps"]
                           if "counted" in step and step["counted"] != figures[step["step"]]]
    return verdict


def _judge_must(verdict: Verdict, words: str, first: tuple[int, int], then: tuple[int, int], names: list[str],
                behind: Mapping[str, set[str]]) -> None:
    if first > then:
        verdict.broken.append(words)
    elif first[0] == then[0] or names[first[0]] in behind[names[then[0]]]:
        verdict.kept += 1
    else:
        verdict.luck.append(words)
