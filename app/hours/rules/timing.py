"""Timers: how long, when one was forgotten, what a correction may say, and what is billed. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from app.errors import BadInput
from app.shop.opening_hours import Opening

GRACE = timedelta(minutes=10)  # a step is finished before one goes to lunch. Common practice, no source.
LONGEST = timedelta(hours=24)  # of one entry


@dataclass(frozen=True)
class Span:
    """From one moment to another; still running while `end` is None."""

    start: datetime
    end: datetime | None = None

    def hours(self, now: datetime) -> float:
        """Hours that have passed: differences of moments, so that a change of clocks neither adds nor takes one."""
        return max(((self.end or now) - self.start).total_seconds(), 0.0) / 3600


def spent(spans: Iterable[Span], now: datetime) -> float:
    """Hours of several together; two people at once count twice."""
    return math.fsum(one.hours(now) for one in spans)


@dataclass(frozen=True)
class Forgotten:
    """Why a timer is asked about: since which moment, and in words."""

    since: datetime
    why: str


def forgotten(span: Span, now: datetime, opening: Opening, zone: tzinfo, longest_hours: float) -> Forgotten | None:
    """Whether an entry ran over lunch, over the end of the day, or longer than a shop's timers do; None if it did not.

    The moment it is asked about since is the one at which the shop closed, or at which it had run so long: the likely end.
    """
    until = span.end or now
    asked: list[Forgotten] = []
    closes = opening.closes_after(span.start, zone)
    if closes is not None and until >= closes + GRACE:
        again = opening.opens_next(closes, zone)
        wall = f"{closes.astimezone(zone):%H:%M}"
        asked.append(Forgotten(closes, f"It ran over the break at {wall}." if again else f"It ran over closing time, {wall}."))
    limit = span.start + timedelta(hours=longest_hours)
    if until > limit:
        asked.append(Forgotten(limit, f"It ran for more than {longest_hours:g} h."))
    return min(asked, key=lambda one: one.since) if asked else None


def asked_at(span: Span, opening: Opening, zone: tzinfo, longest_hours: float) -> datetime:
    """When a running timer will be asked about if nobody stops it."""
    closes = opening.closes_after(span.start, zone)
    limit = span.start + timedelta(hours=longest_hours)
    return min(limit, closes + GRACE) if closes is not None else limit


def check_correction(span: Span, others: Sequence[Span], reason: str, now: datetime) -> None:
    """Refuse a correction that cannot be true: no reason, backwards, in the future, over a day, over another of their entries."""
    if not reason.strip():
        raise BadInput("Enter why it is corrected.", "reason")
    if span.end is None or span.end < span.start:
        raise BadInput("It would stop before it starts. Enter a later end.", "stopped")
    if span.end > now:
        raise BadInput("That end is in the future. Enter when the work stopped.", "stopped")
    if span.end - span.start > LONGEST:
        raise BadInput("One entry holds a day at the most. Enter one for each day.", "stopped")
    for other in others:
        if span.start < (other.end or now) and other.start < span.end:
            raise BadInput("At that time the same person’s timer ran on other work. Correct that entry first, or enter other "
                           "times.", "started")


def billed_hours(hours: float, step_minutes: int) -> float:
    """Hours as they are billed: a started step counts whole. What was worked is kept as it was; only this figure is rounded."""
    return math.ceil(round(hours * 60 / step_minutes, 6)) * step_minutes / 60


def reaches(threshold_hours: float, ended_hours: float, starts: Sequence[datetime]) -> datetime | None:
    """When running timers bring the hours of an order to a threshold, if all go on; None without a running one.

    Deterministic in what is stored: it does not depend on the moment at which it is asked.
    """
    if not starts:
        return None
    ordered = sorted(starts)
    left = threshold_hours - ended_hours
    for count in range(1, len(ordered) + 1):
        already = math.fsum((ordered[count - 1] - one).total_seconds() for one in ordered[:count]) / 3600
        at = ordered[count - 1] + timedelta(hours=max(left - already, 0.0) / count)
        if count == len(ordered) or at <= ordered[count]:
            return at
    return None
