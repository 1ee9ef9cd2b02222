"""The soak run's readings: when they are due, and how far anything may move. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from app.measuring.rules import Inputs, Relation, Verdict, judged
from app.powerup.rules.drift import drift
from app.powerup.rules.output import One

BIAS_DRIFT = 0.10
HT_DRIFT = 0.05
MOMENTS = (0, 15, 60)  # minutes: common practice, no source


def due_moments(needed: int) -> tuple[int, ...]:
    """The minutes at which everything is measured, the end of the run with them."""
    return (*(one for one in MOMENTS if one < needed), needed)


def moment_at(minutes: float, needed: int) -> int:
    """The moment that a reading taken so many minutes into the run belongs to: the latest one that has come."""
    return max(one for one in due_moments(needed) if one <= max(0.0, minutes))


def missing(done: Iterable[int], needed: int) -> tuple[int, ...]:
    """The moments of which nothing was measured."""
    there = set(done)
    return tuple(one for one in due_moments(needed) if one not in there)


@dataclass(frozen=True)
class Soaked:
    """The currents and the HT of one moment."""

    moment: int
    ones: Sequence[One]
    ht_v: float
    ht_u: float | None


def moved(first: Soaked, later: Soaked) -> tuple[Verdict, str]:
    """Whether bias or HT moved too far since the first moment, and which in words."""
    bias = drift(first.ones, later.ones, BIAS_DRIFT)
    share = abs(later.ht_v - first.ht_v) / abs(first.ht_v)
    unsure = None if later.ht_u is None or first.ht_u is None else (later.ht_u**2 + first.ht_u**2) ** 0.5 / abs(first.ht_v)
    ht = judged(Inputs(share, Relation.IS, None, HT_DRIFT, unsure)).verdict
    for verdict in (Verdict.FAIL, Verdict.UNDECIDED, Verdict.NOT_JUDGED):
        if bias.verdict is verdict:
            return verdict, f"{bias.mark} moved by {bias.share:.0%} in {later.moment} min; {BIAS_DRIFT:.0%} is the most."
        if ht is verdict:
            return verdict, f"HT moved by {share:.1%} in {later.moment} min; {HT_DRIFT:.0%} is the most."
    return Verdict.PASS, ""


def minutes(start: datetime, end: datetime) -> float:
    """Minutes between two moments."""
    return (end - start).total_seconds() / 60.0
