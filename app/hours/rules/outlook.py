"""What the agreed sum buys in hours, how the hours stand to it, and in which words. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from app.estimating.at_completion import Completion, at_completion
from app.estimating.history import Calibration, LogNormal
from app.estimating.still_to_come import UNCALIBRATED_LOG_SD, Rest, rest
from app.estimating.three_point import three_point
from app.quote.rules.lines import LATE_TOGETHER, Hours, say_hours


def fitted(hours: Hours, by: Calibration | None) -> LogNormal | None:
    """The hours to expect for an estimate: by the shop's history, else by its own three figures; None for no hours at all."""
    if hours.likely <= 0:
        return None
    if by is not None:
        return by.of(hours.likely)
    if not hours.in_doubt:
        return LogNormal(hours.likely, UNCALIBRATED_LOG_SD)
    three = three_point(hours.low, hours.likely, hours.high)
    spread = math.log1p(three.variance / three.mean**2)
    return LogNormal(three.mean * math.exp(-spread / 2), math.sqrt(spread))


@dataclass(frozen=True)
class Work:
    """One task as the sums see it: what it was estimated at (None: at nothing), hours spent on it, whether it is finished.

    `so_far`: the spent hours that the estimate counted in, where the estimate is of what is left (the way back: 0).
    """

    estimate: LogNormal | None
    spent: float
    finished: bool = False
    so_far: float | None = None


def still_to_come(work: Iterable[Work]) -> list[Rest]:
    """What each unfinished task still takes, given the hours that it took so far."""
    return [rest(one.estimate, spent=one.spent if one.so_far is None else one.so_far) for one in work
            if not one.finished and one.estimate is not None]


@dataclass(frozen=True)
class Agreed:
    """Money that was agreed for an order and what else it must pay: minor units, tax included in the ceiling alone."""

    ceiling_minor: int
    tax_rate_bp: float  # on top of the prices; 0 where they hold it
    on_top_minor: int = 0  # charged beside the work, tax included: a fee for diagnosis that is not credited
    parts_minor: int = 0  # before tax
    rate_minor: int = 0  # an hour, before tax


def hours_within(agreed: Agreed) -> float | None:
    """Hours of work that the agreed sum holds beside its parts; None where an hour costs nothing.

    (ceiling − what comes on top) ÷ (1 + tax) − parts, divided by the rate; never below zero.
    """
    if agreed.rate_minor <= 0:
        return None
    net = (agreed.ceiling_minor - agreed.on_top_minor) / (1 + agreed.tax_rate_bp / 10_000) - agreed.parts_minor
    return max(net, 0.0) / agreed.rate_minor


class Level(StrEnum):
    """How near the spent hours have come to those that the agreed sum holds."""

    NOTHING_AGREED = "nothing agreed"
    WITHIN = "within"
    EXPECTED_OVER = "expected to pass"
    WARN = "warn"
    HOLD = "hold"
    PASSED = "passed"

    @property
    def asks(self) -> bool:
        """Whether the customer is to be called."""
        return self in (Level.WARN, Level.HOLD, Level.PASSED)


@dataclass(frozen=True)
class Limits:
    """At what part of the agreed hours somebody is warned, and work is held, in percent."""

    warn_percent: int
    hold_percent: int


def level(spent: float, ceiling: float | None, limits: Limits, *, left: bool, p80: float = 0.0) -> Level:
    """Where the hours stand. Thresholds warn only while work is left; a limit that was passed is passed. `p80`: hours at the end
    that are not passed with 80 % probability.
    """
    if ceiling is None:
        return Level.NOTHING_AGREED
    if spent > ceiling + 1e-9:
        return Level.PASSED
    if not left:
        return Level.WITHIN
    if spent * 100 >= ceiling * limits.hold_percent - 1e-6:
        return Level.HOLD
    if spent * 100 >= ceiling * limits.warn_percent - 1e-6:
        return Level.WARN
    return Level.EXPECTED_OVER if p80 > ceiling else Level.WITHIN


@dataclass(frozen=True)
class Bar:
    """The hours of an order against what was agreed, for one bar: all in hours. `to_come` None: what is to come is not told here,
    as on a paper, which says what was worked and nothing of what others wait for, and on a repair that has ended.
    """

    spent: float
    to_come: float | None
    p50: float
    p80: float
    ceiling: float | None
    level: Level

    @property
    def ended(self) -> Bar:
        """The same of a repair that has ended: what was estimated and not worked is not to come any more."""
        passed = self.ceiling is not None and self.spent > self.ceiling + 1e-9
        level = self.level if self.ceiling is None else (Level.PASSED if passed else Level.WITHIN)
        return replace(self, to_come=None, p50=self.spent, p80=self.spent, level=level)

    @property
    def percent(self) -> int:
        """Spent hours in percent of the limit, rounded up so that 100 is never said too early."""
        return math.ceil(round(self.spent / self.ceiling * 100, 6)) if self.ceiling else 0

    @property
    def top(self) -> float:
        """The longest figure, for the scale."""
        return max(self.spent, self.p80, self.ceiling or 0.0, 0.1) * 1.06

    @property
    def words(self) -> str:
        """All that the bar shows, in words and figures."""
        if self.to_come is None:
            range_words = f"{say_hours(self.spent)} worked"
        elif self.spent + self.to_come == 0:
            range_words = "Nothing is estimated yet"
        elif self.to_come == 0:
            range_words = f"{say_hours(self.spent)} spent, no estimated work is left"
        else:
            range_words = (f"{say_hours(self.spent)} spent, about {say_hours(self.to_come)} to come. At the end "
                           f"{say_hours(self.p50)} as likely as not, at most {say_hours(self.p80)} (80 %)")
        return f"{range_words}. {self.limit_words}"

    @property
    def limit_words(self) -> str:
        limit = say_hours(self.ceiling) if self.ceiling is not None else ""
        return {
            Level.NOTHING_AGREED: "No limit is agreed.",
            Level.WITHIN: f"The agreed sum holds {limit}.",
            Level.EXPECTED_OVER: f"Likely to need more than agreed: the agreed sum holds {limit}. Call before it is used up.",
            Level.WARN: f"Warning: {self.percent} % of the {limit} that the agreed sum holds. Call before it is used up.",
            Level.HOLD: f"Hold: {self.percent} % of the {limit} that the agreed sum holds. Call before you go on.",
            Level.PASSED: f"The {limit} that the agreed sum holds are passed."
                          + (" Stop, and call." if self.to_come is not None else ""),
        }[self.level]


def bar(work: Sequence[Work], ceiling: float | None, limits: Limits) -> tuple[Bar, list[Rest], Completion]:
    """The bar of these tasks against a ceiling in hours, with what each still takes and the hours at the end."""
    gone = math.fsum(one.spent for one in work)
    rests = still_to_come(work)
    ends = at_completion(rests, spent=gone, correlation=LATE_TOGETHER)
    to_come = ends.mean - gone
    left = any(not one.finished and (one.estimate is not None or one.spent > 0) for one in work)
    return (Bar(gone, to_come, ends.p50, ends.p80, ceiling, level(gone, ceiling, limits, left=left, p80=ends.p80)), rests, ends)
