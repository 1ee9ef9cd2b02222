"""Hours of a whole job when it is done: what was spent, and what several unfinished tasks still take."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

from app.estimating.errors import EstimateError, hours, number
from app.estimating.still_to_come import Rest


@dataclass(frozen=True)
class Completion:
    """Hours of the whole job at its end: expected, and those that are not passed with 50 and 80 % probability."""

    mean: float
    p50: float
    p80: float


def at_completion(rests: Iterable[Rest], *, spent: float, correlation: float = 0.0) -> Completion:
    """Spent hours and the sum of what is still to come.

    `correlation`: from 0 (independent) to 1 (all late together), the same between any two tasks. The sum is taken for a
    log-normal of the same mean and variance. Raises EstimateError. Source: L. F. Fenton, "The sum of log-normal probability
    distributions in scatter transmission systems", IRE Trans. Communications Systems 8 (1960) 57 (from memory).
    """
    gone, rho = hours("spent", spent), number("correlation", correlation)
    if not 0.0 <= rho <= 1.0:
        raise EstimateError("correlation", correlation, "from 0 to 1")
    left = [one for one in rests if one.mean > 0]
    mean = math.fsum(one.mean for one in left)
    if not left:
        return Completion(gone, gone, gone)
    together = math.fsum(math.sqrt(one.variance) for one in left) ** 2
    variance = (1 - rho) * math.fsum(one.variance for one in left) + rho * together
    log_variance = math.log1p(variance / mean**2)
    median = mean * math.exp(-log_variance / 2)
    reach = NormalDist().inv_cdf(0.8) * math.sqrt(log_variance)
    return Completion(gone + mean, gone + median, gone + median * math.exp(reach))
