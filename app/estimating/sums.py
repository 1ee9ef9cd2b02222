"""The sum of several three-point tasks, with its spread."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from app.estimating.errors import EstimateError, number, several
from app.estimating.three_point import ThreePoint, as_three_point

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, np.dtype[np.float64]]

_CELLS = 4096
_STRATA = 160
_LEVELS = (0.1, 0.5, 0.8, 0.9)


@dataclass(frozen=True)
class Range:
    """Hours that will not be passed with 10, 50, 80 and 90 % probability; mean and standard deviation (h)."""

    p10: float
    p50: float
    p80: float
    p90: float
    mean: float
    sd: float


def total(tasks: Iterable[ThreePoint | Sequence[float]], *, correlation: float = 0.0) -> Range:
    """Range of the sum of beta-PERT tasks (ThreePoints or triples of hours).

    `correlation`: from 0 (independent) to 1 (all late together), the same between any two tasks; it joins them
    by a one-factor normal copula, and the standard deviation takes it as the correlation of the hours
    themselves. Percentiles by numerical convolution, not by a normal approximation, to about 0.1 % of the sum
    (0.5 % with correlation). Raises EstimateError for no task or a correlation outside 0 to 1.
    """
    every = [as_three_point(task) for task in several("tasks", tasks, "tasks")]
    if not every:
        raise EstimateError("tasks", every, "at least one task")
    rho = number("correlation", correlation)
    if not 0.0 <= rho <= 1.0:
        raise EstimateError("correlation", correlation, "from 0 to 1")
    mean = math.fsum(task.mean for task in every)
    variance = math.fsum(task.variance for task in every)
    together = math.fsum(math.sqrt(task.variance) for task in every) ** 2
    sd = math.sqrt((1 - rho) * variance + rho * together)
    spread = [task for task in every if task.high > task.low]
    fixed = math.fsum(task.low for task in every if task.high == task.low)
    if not spread:
        return Range(fixed, fixed, fixed, fixed, mean, sd)
    p10, p50, p80, p90 = (fixed + point for point in _percentiles(spread, rho))
    return Range(p10, p50, p80, p90, mean, sd)


def _percentiles(tasks: list[ThreePoint], rho: float) -> list[float]:
    from scipy.special import betaincinv

    if rho == 1.0 or len(tasks) == 1:
        return [
            math.fsum(t.low + (t.high - t.low) * float(betaincinv(t.alpha, t.beta, level)) for t in tasks)
            for level in _LEVELS
        ]
    return _convolved(tasks, rho)


def _convolved(tasks: list[ThreePoint], rho: float) -> list[float]:
    """Percentiles of the sum: cells of equal width, one task after another, averaged over the common factor."""
    import numpy as np
    from scipy.special import betainc, ndtr, ndtri

    cells = _CELLS if rho == 0.0 else _CELLS // 4
    cell = math.fsum(task.high - task.low for task in tasks) / cells
    edges = (np.arange(cells + 1) - 0.5) * cell
    strata = ndtri((np.arange(_STRATA) + 0.5) / _STRATA) if rho else np.zeros(1)
    spectrum = np.ones((len(strata), cells + 1), dtype=complex)
    for task in tasks:
        at = np.clip(edges / (task.high - task.low), 0.0, 1.0)
        below = betainc(task.alpha, task.beta, at)
        if rho:
            score = (ndtri(below)[None, :] - math.sqrt(rho) * strata[:, None]) / math.sqrt(1 - rho)
            below = ndtr(score)
        else:
            below = below[None, :]
        spectrum *= np.fft.rfft(np.diff(below, axis=1), n=2 * cells, axis=1)
    shares = np.fft.irfft(spectrum.mean(axis=0), n=2 * cells)
    return _read(np.maximum(shares, 0.0), cell, tasks)


def _read(shares: Array, cell: float, tasks: list[ThreePoint]) -> list[float]:
    """Percentiles from shares by cell, moved by what rounding to cells cost the mean."""
    import numpy as np

    values = np.arange(len(shares)) * cell
    shares = shares / shares.sum()
    lowest = math.fsum(task.low for task in tasks)
    shift = math.fsum(task.mean for task in tasks) - float(values @ shares)
    upper = np.cumsum(shares)
    points = np.interp(_LEVELS, upper, values + cell / 2)
    top = math.fsum(task.high for task in tasks)
    return [min(max(float(point) + shift, lowest), top) for point in points]
