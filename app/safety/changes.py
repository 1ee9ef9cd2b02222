"""What a profile as the shop has it says otherwise than the same regime as it ships today. Pure: it compares what it is given."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from app.measuring.rules import Quantity, say_band
from app.safety.rules import Applies, Mark, StepKind


class Step(Protocol):
    """What a step of a stored profile and one that ships have in common."""

    @property
    def kind(self) -> StepKind: ...
    @property
    def title(self) -> str: ...
    @property
    def question(self) -> str: ...
    @property
    def applies(self) -> Applies: ...
    @property
    def quantity(self) -> Quantity | None: ...
    @property
    def lower(self) -> float | None: ...
    @property
    def upper(self) -> float | None: ...
    @property
    def rule(self) -> str: ...
    @property
    def condition(self) -> str: ...
    @property
    def mark(self) -> Mark: ...
    @property
    def source(self) -> str: ...


def changes(ours: Sequence[Step], theirs: Sequence[Step]) -> list[str]:
    """From `ours` to `theirs`, one line a step: added, gone, another limit, other words, known otherwise."""
    before, after = _by_name(ours), _by_name(theirs)
    found = [f"New: {_named(step)}. {step.question}" for name, step in after.items() if name not in before]
    found += [f"No longer a step of its own: {_named(step)}." for name, step in before.items() if name not in after]
    for name in before.keys() & after.keys():
        found += _one(before[name], after[name])
    return found


def _by_name(steps: Iterable[Step]) -> dict[tuple[StepKind, str, Applies], Step]:
    return {(one.kind, one.title, one.applies): one for one in steps}


def _named(step: Step) -> str:
    to_whom = "" if step.applies is Applies.ANY else f", {step.applies.value}"
    limit = _limit(step)
    return f"{step.title}{to_whom}{f', {limit}' if limit else ''}"


def _limit(step: Step) -> str:
    if step.quantity is None:
        return ""
    return "computed from the lead" if step.rule else say_band(step.lower, step.upper, step.quantity.unit)


def _one(ours: Step, theirs: Step) -> list[str]:
    found = []
    if ours.rule and theirs.rule and ours.rule != theirs.rule:
        found.append(f"{ours.title}, {ours.applies.value}: computed from the lead by another rule.")
    elif _limit(ours) != _limit(theirs):
        found.append(f"{ours.title}, {ours.applies.value}: {_limit(theirs)} in place of {_limit(ours)}.")
    if ours.question != theirs.question:
        found.append(f"{ours.title}: asked as “{theirs.question}”")
    if ours.quantity is not None and ours.condition != theirs.condition:
        found.append(f"{ours.title}: measured with {theirs.condition}.")
    if ours.quantity is not None and (ours.mark, ours.source) != (theirs.mark, theirs.source):
        found.append(f"{ours.title}, {ours.applies.value}: the limit is {theirs.mark.word}: {theirs.source}.")
    return found
