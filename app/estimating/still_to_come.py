"""Hours still to come for a task that is not finished yet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.estimating.errors import above_zero, hours
from app.estimating.history import Calibration, LogNormal
from app.estimating.sums import Range
from app.estimating.three_point import ThreePoint, three_figures, three_point

# Spread of a bare estimate that nobody has calibrated: two jobs in three within a factor of 1.65 either way.
# Common practice, no source; a shop with a history passes its calibration.
UNCALIBRATED_LOG_SD = 0.5

@dataclass(frozen=True)
class Rest:
    """Hours still to come for one task: their expected value (h) and variance (h²)."""

    mean: float
    variance: float


Estimate = LogNormal | ThreePoint | Range | Sequence[float] | float


def remaining(
    estimate: Estimate,
    *,
    spent: float,
    calibration: Calibration | None = None,
    log_sd: float | None = None,
) -> float:
    """Expected hours still to come, given that the task is not finished after `spent` hours (zero or more).

    `estimate`: a LogNormal (such as `Calibration.of(hours)`); or hours, of which `calibration` gives factor and
    spread; or hours as a median with `log_sd` (default 0.5); or a ThreePoint, three figures or a Range, of
    which mean and variance are matched. With μ = ln(median) and σ = log_sd:

    E[X | X > s] − s = exp(μ + σ²/2) · Φ((μ + σ² − ln s)/σ) / Φ((μ − ln s)/σ) − s

    Never negative, and it falls at first and rises again once the task is plainly overdue. With no spread at all
    it is what is left of the estimate, 0 when that is used up. Raises EstimateError. Source: mean of the
    truncated log-normal, Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1 (from memory).
    """
    gone = hours("spent", spent)
    fitted = log_normal(estimate, calibration=calibration, log_sd=log_sd)
    if fitted.log_sd == 0.0:
        return max(fitted.median - gone, 0.0)
    if gone == 0.0:
        return fitted.mean
    return _truncated_mean(fitted, gone) - gone


def rest(estimate: Estimate, *, spent: float, calibration: Calibration | None = None, log_sd: float | None = None) -> Rest:
    """What `remaining` expects, with its spread: E[X² | X > s] = exp(2μ + 2σ²) · Φ((μ + 2σ² − ln s)/σ) / Φ((μ − ln s)/σ).

    Raises EstimateError. Source: second moment of the truncated log-normal, as for `remaining` (from memory).
    """
    gone = hours("spent", spent)
    fitted = log_normal(estimate, calibration=calibration, log_sd=log_sd)
    if fitted.log_sd == 0.0:
        return Rest(max(fitted.median - gone, 0.0), 0.0)
    if gone == 0.0:
        return Rest(fitted.mean, fitted.mean**2 * math.expm1(fitted.log_sd**2))
    first, second = _log_moments(fitted, gone)
    mean = max(math.exp(first), gone)
    return Rest(mean - gone, mean**2 * max(math.expm1(second - 2 * first), 0.0))


def log_normal(
    estimate: Estimate, *, calibration: Calibration | None = None, log_sd: float | None = None
) -> LogNormal:
    """The log-normal that an estimate stands for; raises EstimateError."""
    if isinstance(estimate, LogNormal):
        return estimate
    if isinstance(estimate, Range):
        return _matched(estimate.mean, estimate.sd**2)
    if isinstance(estimate, Sequence):
        estimate = three_point(*three_figures("estimate", estimate))
    if isinstance(estimate, ThreePoint):
        return _matched(estimate.mean, estimate.variance)
    median = above_zero("estimate", estimate)
    if calibration is not None:
        return calibration.of(median)
    return LogNormal(median, UNCALIBRATED_LOG_SD if log_sd is None else log_sd)


def _matched(mean: float, variance: float) -> LogNormal:
    """The log-normal of the same mean and variance."""
    above_zero("estimate", mean)
    log_variance = math.log1p(variance / mean**2)
    return LogNormal(mean * math.exp(-log_variance / 2), math.sqrt(log_variance))


def _truncated_mean(fitted: LogNormal, gone: float) -> float:
    return max(math.exp(_log_moments(fitted, gone)[0]), gone)


def _log_moments(fitted: LogNormal, gone: float) -> tuple[float, float]:
    """Logarithms of E[X | X > gone] and E[X² | X > gone]: far beyond the estimate both tails are too small to divide."""
    mu, sd = math.log(fitted.median), fitted.log_sd
    late = (mu - math.log(gone)) / sd
    tail = _log_phi(late)
    return mu + sd**2 / 2 + _log_phi(late + sd) - tail, 2 * mu + 2 * sd**2 + _log_phi(late + 2 * sd) - tail


def _log_phi(x: float) -> float:
    """Logarithm of the normal distribution function. Below −30 by its asymptotic series (Abramowitz and Stegun 26.2.12, from
    memory). Written out because every write of a shop asks it: scipy takes longer to load than a save may take.
    """
    if x > 0:
        return math.log1p(-math.erfc(x / math.sqrt(2)) / 2)
    if x > -30:
        return math.log(math.erfc(-x / math.sqrt(2)) / 2)
    square = x * x
    series = 1 - 1 / square + 3 / square**2 - 15 / square**3
    return -square / 2 - math.log(-x) - math.log(2 * math.pi) / 2 + math.log(series)
