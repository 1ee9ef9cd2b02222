"""What is bound to be charged, and how near it has come to what was agreed. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from app.kernel.taxes import TaxRule
from app.quote.rules.lines import Sums, add_up


def in_all(total_minor: int, diagnosis_minor: int, *, credited: bool) -> int:
    """What the customer pays: a credited fee for diagnosis is part of the total, else it comes on top. Tax included."""
    return max(total_minor, diagnosis_minor) if credited else total_minor + diagnosis_minor


@dataclass(frozen=True)
class AgreedCost:
    """Labour and parts of one agreed line before tax; `line_root_id` names the line whatever took its place."""

    line_root_id: int
    labour_minor: int
    parts_minor: int


@dataclass(frozen=True)
class PartCost:
    """What a part that is ordered or here is charged at, before tax; `line_root_id` None if no line calls for it."""

    line_root_id: int | None
    net_minor: int


def commit(agreed: Iterable[AgreedCost], parts: Iterable[PartCost], tax: TaxRule | int) -> Sums:
    """What is bound to be charged: each agreed line at its price, or more where its parts cost more; other parts on top."""
    by_line_root: dict[int | None, int] = {}
    for part in parts:
        by_line_root[part.line_root_id] = by_line_root.get(part.line_root_id, 0) + part.net_minor
    nets = [line.labour_minor + max(line.parts_minor, by_line_root.pop(line.line_root_id, 0)) for line in agreed]
    return add_up([*nets, *by_line_root.values()], tax)


class Level(StrEnum):
    """How near committed cost has come to what was agreed."""

    NOTHING_AGREED = "nothing agreed"
    WITHIN = "within the quote"
    ABOVE_QUOTE = "above the quote"
    WARN = "warn"
    HOLD = "hold"
    PASSED = "passed"


@dataclass(frozen=True)
class Limits:
    """At what part of the ceiling somebody is warned and when work is held, in percent."""

    warn_percent: int
    hold_percent: int


def level(committed_minor: int, expected_minor: int, ceiling_minor: int | None, limits: Limits) -> Level:
    """Where committed cost stands.

    `expected_minor` is what the customer was told it would come to: up to there all is as agreed, however near the ceiling
    it lies. What goes beyond is measured in percent of the ceiling. All tax included, minor units.
    """
    if ceiling_minor is None:
        return Level.NOTHING_AGREED
    if committed_minor > ceiling_minor:
        return Level.PASSED
    if committed_minor <= expected_minor:
        return Level.WITHIN
    if committed_minor * 100 >= ceiling_minor * limits.hold_percent:
        return Level.HOLD
    if committed_minor * 100 >= ceiling_minor * limits.warn_percent:
        return Level.WARN
    return Level.ABOVE_QUOTE
