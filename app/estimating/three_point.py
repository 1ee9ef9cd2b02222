"""Three-point estimates: a beta-PERT from a low, a likely and a high figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.estimating.errors import EstimateError, hours


@dataclass(frozen=True)
class ThreePoint:
    """Hours of one task.

    `mean`: (a + 4m + b)/6 (h). `variance`: that of the beta-PERT itself (h²). `classic_variance`: ((b − a)/6)²
    (h²), the rule that is often quoted for it and is not the same. `alpha`, `beta`: shapes on low to high; both
    None when low = high, where there is nothing to spread.
    """

    mean: float
    variance: float
    classic_variance: float
    low: float
    likely: float
    high: float
    alpha: float | None
    beta: float | None


def three_point(low: float, likely: float, high: float) -> ThreePoint:
    """Beta-PERT of three figures in hours, 0 ≤ low ≤ likely ≤ high.

    α = 1 + 4(m−a)/(b−a), β = 1 + 4(b−m)/(b−a); mean (a+4m+b)/6; variance (b−a)²αβ/((α+β)²(α+β+1)).
    Raises EstimateError. Source: Malcolm, Roseboom, Clark and Fazar, "Application of a technique for research
    and development program evaluation", Operations Research 7 (1959), for the mean and (b−a)/6 (from memory);
    the variance is that of the beta distribution.
    """
    a, m, b = hours("low", low), hours("likely", likely), hours("high", high)
    if m < a:
        raise EstimateError("likely", likely, f"not below low ({low!r})")
    if b < m:
        raise EstimateError("high", high, f"not below likely ({likely!r})")
    mean = (a + 4 * m + b) / 6
    if b == a:
        return ThreePoint(mean, 0.0, 0.0, a, m, b, None, None)
    width = b - a
    alpha, beta = 1 + 4 * ((m - a) / width), 1 + 4 * ((b - m) / width)
    # alpha + beta is 6 whatever the figures.
    variance = width**2 * alpha * beta / 252
    return ThreePoint(mean, variance, (width / 6) ** 2, a, m, b, alpha, beta)


def as_three_point(task: ThreePoint | Sequence[float]) -> ThreePoint:
    """A task given as a ThreePoint or as its three figures."""
    if isinstance(task, ThreePoint):
        return task
    return three_point(*three_figures("tasks", task))


def three_figures(argument: str, value: object) -> tuple[float, float, float]:
    """The three figures of a task; refuses anything else."""
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 3:
        raise EstimateError(argument, value, "low, likely and high")
    low, likely, high = value
    return low, likely, high
