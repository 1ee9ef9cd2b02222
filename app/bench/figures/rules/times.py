"""How long a repair took, and what it waited for meanwhile. Pure.

Every moment between check-in and end has exactly one cause, so the causes add up to the whole: worked on while a timer ran, by
however many; else drying, curing or soaking; else what its stage waits for, and in the stage of the quote whether one is out
unanswered.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from statistics import fmean, median

from app.orders.stages import Stage

Span = tuple[datetime, datetime]
DAY = timedelta(days=1)


class Cause(StrEnum):
    """What a moment of a repair was spent on."""

    WORKED = "worked on"
    UNATTENDED = "drying, curing or soaking"
    COUNTER = "at the counter"
    BENCH = "waiting for the bench"
    QUOTE = "waiting for the quote"
    ANSWER = "waiting for the customer’s answer"
    PARTS = "waiting for parts"
    COLLECTION = "waiting to be collected"


_OF_STAGE = {Stage.INTAKE: Cause.COUNTER, Stage.TEARDOWN: Cause.BENCH, Stage.PARTS: Cause.PARTS, Stage.REASSEMBLY: Cause.BENCH,
             Stage.SAFETY_TEST: Cause.BENCH, Stage.RETURN: Cause.COLLECTION}


@dataclass(frozen=True)
class Story:
    """One repair from check-in to its end. `moves`: when it came to which stage. `quotes`: when a quote went out (True) or was
    answered (False). `worked`, `unattended`: when a timer ran; a span of two people at once stands twice.
    """

    opened: datetime
    ended: datetime
    moves: Sequence[tuple[datetime, Stage]] = ()
    quotes: Sequence[tuple[datetime, bool]] = ()
    worked: Sequence[Span] = ()
    unattended: Sequence[Span] = ()

    @property
    def days(self) -> float:
        """From check-in to the end, by the calendar, nights and closed days included."""
        return (self.ended - self.opened) / DAY

    @property
    def hours_worked(self) -> float:
        """Hours of work: those of two people at once count twice."""
        return sum((self._inside(one) for one in self.worked), timedelta()) / timedelta(hours=1)

    def _inside(self, span: Span) -> timedelta:
        return max(timedelta(), min(span[1], self.ended) - max(span[0], self.opened))


def causes(story: Story) -> dict[Cause, timedelta]:
    """How long each cause took. They add up to the time from check-in to the end."""
    changes: list[tuple[datetime, int, object]] = [(story.ended, 0, None)]
    changes += [(at, 1, stage) for at, stage in story.moves]
    changes += [(at, 2, out) for at, out in story.quotes]
    for place, spans in ((3, story.worked), (4, story.unattended)):
        for start, stop in spans:
            if stop > start:
                changes += [(start, place, 1), (stop, place, -1)]
    found: Counter[Cause] = Counter()
    stage, out, running = Stage.INTAKE, False, {3: 0, 4: 0}
    here = story.opened
    for at, place, what in sorted(changes, key=lambda one: (one[0], one[1])):
        until = min(max(at, here), story.ended)
        if until > here:
            found[_cause(stage, out, running)] += (until - here) // timedelta(microseconds=1)
            here = until
        if place == 1:
            stage = Stage(str(what))
        elif place == 2:
            out = bool(what)
        elif place > 2:
            running[place] += int(str(what))
    return {cause: timedelta(microseconds=spent) for cause, spent in found.items()}


def _cause(stage: Stage, out: bool, running: dict[int, int]) -> Cause:
    if running[3]:
        return Cause.WORKED
    if running[4]:
        return Cause.UNATTENDED
    if stage is Stage.QUOTE:
        return Cause.ANSWER if out else Cause.QUOTE
    return _OF_STAGE[stage]


@dataclass(frozen=True)
class CauseRow:
    """One cause: days for each repair on average, and its share of all."""

    cause: Cause
    days: float
    share: float


@dataclass(frozen=True)
class Turnaround:
    """Of some repairs: how many, the middle of their days, the days within which four in five were done, hours of work for each on
    average, and each cause.
    """

    n: int
    median_days: float
    days_of_80: float
    hours_worked: float
    causes: tuple[CauseRow, ...]

    @property
    def mean_days(self) -> float:
        """What the causes add up to."""
        return math.fsum(row.days for row in self.causes)


def turnaround(stories: Sequence[Story]) -> Turnaround | None:
    """None of no repair."""
    if not stories:
        return None
    spent: Counter[Cause] = Counter()
    for story in stories:
        spent.update({cause: took / DAY for cause, took in causes(story).items()})
    total = math.fsum(spent.values())
    rows = (CauseRow(cause, spent[cause] / len(stories), spent[cause] / total if total else 0.0) for cause in Cause)
    return Turnaround(len(stories), median(story.days for story in stories), quantile([story.days for story in stories], 0.8),
                      fmean(story.hours_worked for story in stories), tuple(rows))


def quantile(values: Iterable[float], share: float) -> float:
    """The value below which this share of them lies, straight between neighbours: definition 7 of Hyndman and Fan, The American
    Statistician 50 (1996) 361 (from memory; numpy's default, against which it is tested).
    """
    ranked = sorted(values)
    place = share * (len(ranked) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ranked) - 1)
    return ranked[below] + (ranked[above] - ranked[below]) * (place - below)
