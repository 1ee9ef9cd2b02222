"""Judging a reading against limits, with what the meter cannot tell taken into account."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from app.electrics.errors import ElectricsError, finite, not_negative, one_of, positive, several
from app.electrics.extremes import finite_result
from app.electrics.sourced import Sourced

Verdict = Literal["pass", "fail", "undecided"]
Tolerance = float | tuple[float, float]
Tolerances = Iterable[Tolerance] | Mapping[str, Tolerance]
Zone = Literal["pass", "conditional pass", "conditional fail", "fail"]


@dataclass(frozen=True)
class Judgement:
    """A verdict and what it rests on.

    margin: distance from the value to the nearest tolerance limit, negative outside. accept_margin: the same
    to the acceptance limit. accept_lower, accept_upper: acceptance limits, None where there is no such limit;
    with a guard wider than half the tolerance accept_lower lies above accept_upper and nothing can pass.
    false_accept_probability: chance that the true value is outside the limits. zone: the ILAC-G8 wording.
    unconfirmed: a limit rests on memory alone, so a pass must not count until the owner has confirmed the
    limit.
    """

    verdict: Verdict
    margin: float
    accept_lower: float | None
    accept_upper: float | None
    false_accept_probability: float
    accept_margin: float
    zone: Zone
    unconfirmed: bool = False


@finite_result
def judge(
    value: float,
    *,
    lower: float | None = None,
    upper: float | None = None,
    uncertainty: float = 0.0,
    rule: str = "guarded",
) -> Judgement:
    """Judge a value against one or two limits, all of one unit; limits belong to the accepted side.

    uncertainty: expanded, k = 2, zero or more. "guarded" accepts only from lower + U to upper - U; within U
    of a limit, on either side, it is "undecided"; beyond limit + U it fails (ILAC-G8:09/2019 guard band w =
    U; ISO 14253-1). "simple" accepts from lower to upper and is never undecided. The probability of being
    outside is that of a normal distribution with u = U / 2 (JCGM 106); with no uncertainty it is 0 or 1.
    Sums are decimal, so that 0.480 at a limit of 0.500 - 0.020 is on the limit. Raises ElectricsError for
    NaN, infinity, no limit at all, lower above upper, negative uncertainty, another rule.
    "pass" says that this reading met this limit; it does not say that an amplifier is safe.
    """
    number = finite("value", value)
    expanded = not_negative("uncertainty", uncertainty)
    one_of("rule", rule, ("guarded", "simple"))
    low, high = _limits(lower, upper)
    guard = expanded if rule == "guarded" else 0.0
    accept_low = None if low is None else _sum(low, guard)
    accept_high = None if high is None else _sum(high, -guard)
    inside = _inside(number, low, high)
    if _inside(number, accept_low, accept_high):
        verdict: Verdict = "pass"
    elif _inside(number, _shifted(low, -guard), _shifted(high, guard)) and guard > 0.0:
        verdict = "undecided"
    else:
        verdict = "fail"
    conditional: Zone = "conditional pass" if inside else "conditional fail"
    return Judgement(
        verdict=verdict,
        margin=_margin(number, low, high),
        accept_lower=accept_low,
        accept_upper=accept_high,
        false_accept_probability=_outside(number, low, high, expanded / 2.0),
        accept_margin=_margin(number, accept_low, accept_high),
        zone=conditional if verdict == "undecided" else verdict,
        unconfirmed=any(isinstance(limit, Sourced) and limit.unconfirmed for limit in (lower, upper)),
    )


def _limits(lower: float | None, upper: float | None) -> tuple[float | None, float | None]:
    low = None if lower is None else finite("lower", lower)
    high = None if upper is None else finite("upper", upper)
    if low is None and high is None:
        raise ElectricsError("lower and upper", None, "given, at least one of them")
    if low is not None and high is not None and low > high:
        raise ElectricsError("lower", lower, f"at most upper, {high:g}")
    return low, high


def _sum(first: float, second: float) -> float:
    """Sum as a person would write it: binary 0.3 - 0.1 is a hair under 0.2 and would shift a limit."""
    return float(Decimal(repr(first)) + Decimal(repr(second)))


def _shifted(limit: float | None, by: float) -> float | None:
    return None if limit is None else _sum(limit, by)


def _inside(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or value >= low) and (high is None or value <= high)


def _margin(value: float, low: float | None, high: float | None) -> float:
    above = math.inf if low is None else _sum(value, -low)
    below = math.inf if high is None else _sum(high, -value)
    return min(above, below)


def _outside(value: float, low: float | None, high: float | None, u: float) -> float:
    if u == 0.0:
        return 0.0 if _inside(value, low, high) else 1.0
    under = 0.0 if low is None else _tail((value - low) / u)
    over = 0.0 if high is None else _tail((high - value) / u)
    return min(1.0, under + over)


def _tail(z: float) -> float:
    """Probability of a standard normal variable beyond z; erfc keeps small tails exact."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


@finite_result
def meter_uncertainty(reading: float, *, percent: float, counts: float = 0, resolution: float = 0.0) -> float:
    """Expanded uncertainty (k = 2) of a reading from a meter's accuracy statement ±(percent + counts).

    a = |reading| percent / 100 + counts * resolution is taken as the half width of a rectangular
    distribution: U = 2 a / sqrt(3) (JCGM 100, 4.3.7). percent, counts, resolution zero or more; counts need a
    resolution, the value of one count in the reading's unit. Raises ElectricsError otherwise.
    """
    step, digits = not_negative("resolution", resolution), not_negative("counts", counts)
    if digits > 0.0 and step == 0.0:
        raise ElectricsError(
            "resolution", resolution, "above zero, the value of one count, where counts are given"
        )
    half_width = abs(finite("reading", reading)) * not_negative("percent", percent) / 100.0 + digits * step
    return 2.0 * half_width / math.sqrt(3.0)


def _pair(pair: Any) -> tuple[float, float]:
    two = several("factors", pair, "pairs of a value and its uncertainty")
    if len(two) != 2:
        raise ElectricsError("factors", pair, "pairs of a value and its uncertainty")
    return two[0], two[1]


@finite_result
def product_uncertainty(factors: Iterable[tuple[float, float]]) -> tuple[float, float]:
    """Product of independent values and its expanded uncertainty (k = 2), from (value, expanded) pairs.

    Relative uncertainties add as squares (JCGM 100, 5.1.6); a divisor goes in as its reciprocal, same
    relative uncertainty. Values other than zero, uncertainties zero or more, at least one pair; else
    ElectricsError.
    """
    product, squares, count = 1.0, 0.0, 0
    for pair in several("factors", factors, "pairs of a value and its uncertainty"):
        value, expanded = _pair(pair)
        if finite("value", value) == 0.0:
            raise ElectricsError("value", value, "other than zero")
        product *= value
        squares += (not_negative("uncertainty", expanded) / value) ** 2
        count += 1
    if count == 0:
        raise ElectricsError("factors", (), "at least one pair of value and uncertainty")
    return product, abs(product) * math.sqrt(squares)


@dataclass(frozen=True)
class Band:
    """A nominal value with the band it is expected in."""

    low: float
    nominal: float
    high: float


@dataclass(frozen=True)
class PartsBand(Band):
    """The band that parts allow: low to high at worst, rss_low to rss_high as is likely."""

    rss_low: float
    rss_high: float
    worst_share: float
    rss_share: float


@finite_result
def expected_band(nominal: float, *, tolerances: Tolerances) -> PartsBand:
    """Band of a value from its parts' tolerances, each a fraction (0.1 is ±10 %) or (fraction, sensitivity),
    in a list or by name.

    Sensitivity is the per cent the value moves for one per cent of the part, 1 unless given. Worst case adds
    the shares, root-sum-square adds their squares (independent parts, first order; beyond some 20 % use
    simulate). nominal of either sign, fractions from 0 to below 1; no tolerances gives no width.
    Raises ElectricsError otherwise.
    """
    middle = finite("nominal", nominal)
    shares = []
    for item in several("tolerances", tolerances.values() if isinstance(tolerances, Mapping) else tolerances, "fractions"):
        tolerance, sensitivity = item if isinstance(item, tuple) else (item, 1.0)
        if not_negative("tolerances", tolerance) >= 1.0:
            raise ElectricsError("tolerances", tolerance, "a fraction from 0 to below 1")
        shares.append(tolerance * abs(finite("sensitivity", sensitivity)))
    worst, likely = math.fsum(shares), math.sqrt(math.fsum(share * share for share in shares))
    wide, narrow = abs(middle) * worst, abs(middle) * likely
    return PartsBand(middle - wide, middle, middle + wide, middle - narrow, middle + narrow, worst, likely)


@finite_result
def one_sided_guard(uncertainty: float) -> float:
    """Guard band (same unit) for 95 % one-sided confidence, 1.645 u of an expanded uncertainty (k = 2) above zero."""
    return 1.6448536269514722 * positive("uncertainty", uncertainty) / 2.0
