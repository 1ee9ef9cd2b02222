"""The shop's own history: how its estimates turned out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import NamedTuple

from app.estimating.errors import EstimateError, above_zero, number, several, share, spread, whole

Pairs = Iterable[Sequence[float]]
WORTH = 5.0  # pairs that the shop's mean counts as beside a kind's own. Common practice, no source.


class Interval(NamedTuple):
    """From low to high, both included (h)."""

    low: float
    high: float


@dataclass(frozen=True)
class LogNormal:
    """Hours of which the logarithm is normal: `median` (h), `log_sd` its standard deviation (no unit)."""

    median: float
    log_sd: float

    def __post_init__(self) -> None:
        above_zero("median", self.median)
        spread("log_sd", self.log_sd)

    @property
    def mean(self) -> float:
        """Expected hours."""
        return self.median * math.exp(self.log_sd**2 / 2)


@dataclass(frozen=True)
class Calibration:
    """`factor`: geometric mean of actual over estimated. `log_sd`: standard deviation (n − 1) of its logarithm.
    `n`: pairs it rests on.
    """

    factor: float
    log_sd: float
    n: int

    def __post_init__(self) -> None:
        above_zero("factor", self.factor)
        spread("log_sd", self.log_sd)
        whole("n", self.n, 2)

    @property
    def factor_of_spread(self) -> float:
        """The factor within which, either way, two of three next jobs lie."""
        return math.exp(self._next_sd)

    def interval(self, estimate: float, level: float) -> Interval:
        """Hours between which the next actual lies with probability `level`, given its `estimate` (h).

        estimate · factor · exp(± t · log_sd · √(1 + 1/n)), t of Student with n − 1 degrees: the predictive form.
        Source: prediction interval of a normal sample, as in NIST/SEMATECH e-Handbook (from memory).
        """
        from scipy.special import stdtrit

        middle = above_zero("estimate", estimate) * self.factor
        reach = float(stdtrit(self.n - 1, (1 + share("level", level)) / 2)) * self._next_sd
        return Interval(middle * math.exp(-reach), middle * math.exp(reach))

    def of(self, estimate: float) -> LogNormal:
        """The hours to expect for an estimate (h), as a log-normal with the spread of the next job."""
        return LogNormal(above_zero("estimate", estimate) * self.factor, self._next_sd)

    @property
    def _next_sd(self) -> float:
        return self.log_sd * math.sqrt(1 + 1 / self.n)


@dataclass(frozen=True)
class LogRatios:
    """Pairs of estimated and actual hours as sums, so that a history need not be read whole: how many, and the sums of
    ln(actual / estimated) and of its square.
    """

    n: int = 0
    total: float = 0.0
    squares: float = 0.0

    def __add__(self, other: LogRatios) -> LogRatios:
        return LogRatios(self.n + other.n, self.total + other.total, self.squares + other.squares)

    @property
    def mean(self) -> float:
        return self.total / self.n if self.n else 0.0

    @property
    def around(self) -> float:
        """Sum of squares around the mean."""
        return max(self.squares - self.total * self.mean, 0.0)

    @property
    def calibration(self) -> Calibration:
        """As `calibrate` of the pairs themselves; at least two, or EstimateError."""
        if self.n < 2:
            raise EstimateError("history", self.n, "at least two pairs")
        return Calibration(math.exp(self.mean), math.sqrt(self.around / (self.n - 1)), self.n)


def log_ratios(history: Pairs) -> LogRatios:
    """The sums of pairs of (estimated, actual) hours, all above zero, or EstimateError."""
    logs = _log_ratios("history", history)
    return LogRatios(len(logs), math.fsum(logs), math.fsum(one * one for one in logs))


def calibrate(history: Pairs) -> Calibration:
    """Fit pairs of (estimated, actual) hours, all above zero; at least two pairs, or EstimateError."""
    logs = _log_ratios("history", history)
    if len(logs) < 2:
        raise EstimateError("history", len(logs), "at least two pairs")
    middle = fmean(logs)
    return Calibration(math.exp(middle), _sd(logs, middle), len(logs))


def shrunk(kind: Pairs, shop: Pairs, *, worth: float = WORTH) -> Calibration:
    """Calibration of one kind of task, drawn towards the shop's mean when it has few pairs of its own.

    The shop's mean counts as `worth` pairs (above zero): log factor = (n·kind + worth·shop)/(n + worth), the
    usual precision-weighted form; the spread is pooled in the same way. No pair of the kind gives the shop's
    own calibration; many give the kind's. `shop` needs at least two pairs. The default worth is common
    practice, no source.
    """
    weight, logs = above_zero("worth", worth), _log_ratios("kind", kind)
    return drawn_towards(LogRatios(len(logs), math.fsum(logs), math.fsum(one * one for one in logs)), calibrate(shop), worth=weight)


def drawn_towards(kind: LogRatios, shop: Calibration, *, worth: float = WORTH) -> Calibration:
    """The same of sums; the rule itself."""
    if not kind.n:
        return shop
    middle = (kind.total + worth * math.log(shop.factor)) / (kind.n + worth)
    pooled = (kind.around + worth * shop.log_sd**2) / (kind.n - 1 + worth)
    rests_on = max(2, min(kind.n + shop.n, kind.n + math.floor(worth)))
    return Calibration(math.exp(middle), math.sqrt(pooled), rests_on)


@dataclass(frozen=True)
class Coverage:
    """How often actuals fell inside their intervals.

    `hits` of `n`; `share`; `wilson`: the 95 % interval of the true share. `flag`: the claimed `level` cannot be
    right: so few hits (`too_narrow`) or so many (`too_wide`) would come by chance less than once in twenty.
    `probability`: of so few, or so many, if the claim were right.
    """

    hits: int
    wilson: Interval
    flag: bool
    n: int
    share: float
    level: float
    probability: float
    too_narrow: bool
    too_wide: bool


def coverage(
    intervals: Iterable[Sequence[float]], actuals: Iterable[float], *, level: float = 0.8
) -> Coverage:
    """Count actuals inside their intervals (low, high; both ends included), claimed to hold `level` of them."""
    claim = share("level", level)
    ranges = [_range(each) for each in several("intervals", intervals, "pairs of low and high")]
    hours = [number("actuals", each) for each in several("actuals", actuals, "hours")]
    if len(ranges) != len(hours) or not hours:
        raise EstimateError("actuals", len(hours), f"as many as intervals ({len(ranges)}), and at least one")
    hits = sum(low <= actual <= high for (low, high), actual in zip(ranges, hours, strict=True))
    n = len(hours)
    few, many = _at_most(hits, n, claim), _at_most(n - hits, n, 1 - claim)
    return Coverage(
        hits=hits,
        wilson=wilson(hits, n),
        flag=min(few, many) < 0.05,
        n=n,
        share=hits / n,
        level=claim,
        probability=min(few, many),
        too_narrow=few < 0.05,
        too_wide=many < 0.05,
    )


def wilson(hits: int, n: int, *, level: float = 0.95) -> Interval:
    """Wilson's score interval of a share, 0 ≤ hits ≤ n, n above zero.

    (p + z²/2n ± z√(p(1−p)/n + z²/4n²)) / (1 + z²/n). Source: E. B. Wilson, JASA 22 (1927) 209 (from memory).
    """
    from statistics import NormalDist

    if whole("hits", hits, 0) > whole("n", n, 1):
        raise EstimateError("hits", hits, f"a whole number from 0 to {n}")
    z = NormalDist().inv_cdf((1 + share("level", level)) / 2)
    p = hits / n
    middle = p + z * z / (2 * n)
    reach = z * math.sqrt(p * (1 - p) / n + (z / (2 * n)) ** 2)
    scale = 1 + z * z / n
    low, high = (middle - reach) / scale, (middle + reach) / scale
    return Interval(0.0 if hits == 0 else low, 1.0 if hits == n else high)


def _at_most(hits: int, n: int, chance: float) -> float:
    """Binomial probability of at most so many hits."""
    from scipy.special import bdtr

    return float(bdtr(hits, n, chance))


def _range(pair: Sequence[float]) -> tuple[float, float]:
    low, high = _two("intervals", pair)
    if high < low:
        raise EstimateError("intervals", tuple(pair), "low first, then high")
    return low, high


def _two(argument: str, pair: Sequence[float]) -> tuple[float, float]:
    try:
        first, second = pair
    except (TypeError, ValueError):
        raise EstimateError(argument, pair, "pairs of two numbers") from None
    return number(argument, first), number(argument, second)


def _log_ratios(argument: str, pairs: Pairs) -> list[float]:
    logs = []
    for pair in several(argument, pairs, "pairs of hours"):
        estimated, actual = _two(argument, pair)
        if estimated <= 0 or actual <= 0:
            raise EstimateError(argument, tuple(pair), "pairs of hours above zero")
        logs.append(math.log(actual / estimated))
    return logs


def _sd(values: list[float], middle: float) -> float:
    return math.sqrt(math.fsum((each - middle) ** 2 for each in values) / (len(values) - 1))
