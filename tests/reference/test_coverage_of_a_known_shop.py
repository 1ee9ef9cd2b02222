"""Coverage and calibration on a shop whose truth is known: a seeded simulation with numpy, no real data set.

Public sets of estimated and actual effort are of other work than repairs, and none is at hand whose rows are known for certain.
What stands outside the project here is the truth that the simulation puts in: factor and spread of each job, and scipy's binomial.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from app.estimating import coverage, wilson
from app.estimating.history import drawn_towards, log_ratios
from app.hours.queries.history import replayed

FACTOR, LOG_SD = 1.3, 0.4  # jobs of this shop take 1.3 times their estimate, two in three within a factor of 1.5


def jobs(many: int, seed: int, factor: float = FACTOR, log_sd: float = LOG_SD) -> list[tuple[float, float]]:
    chance = np.random.default_rng(seed)
    estimates = np.exp(chance.normal(0.3, 0.6, many))
    ratios = np.exp(chance.normal(0, log_sd, many))
    return [(float(one), float(one * factor * ratio)) for one, ratio in zip(estimates, ratios, strict=True)]


def test_the_truth_is_found_again() -> None:
    found = log_ratios(jobs(2000, 1)).calibration
    assert found is not None and found.factor == pytest.approx(FACTOR, rel=0.03) and found.log_sd == pytest.approx(LOG_SD, rel=0.05)


def test_ranges_by_the_shops_own_history_reach_what_they_claim() -> None:
    """60 shops of 200 jobs, each job by those before it: 80 % are inside, and a flag is as rare as one in twenty a side."""
    shops = [found for seed in range(60) if (found := replayed(jobs(200, seed + 10))) is not None]
    assert len(shops) == 60 and {found.n for found in shops} == {197}
    assert sum(found.hits for found in shops) / sum(found.n for found in shops) == pytest.approx(0.8, abs=0.01)
    assert sum(found.flag for found in shops) <= stats.binom.ppf(0.999, 60, 0.1)
    assert sum(found.wilson.low <= 0.8 <= found.wilson.high for found in shops) >= stats.binom.ppf(0.001, 60, 0.95)


def test_a_claim_that_ignores_the_history_is_said_to_be_wrong() -> None:
    """A shop that swears by 0.9 to 1.1 times its estimate: the page says that this cannot be right, scipy's binomial agrees."""
    history = jobs(60, 3)
    found = coverage([(0.9 * estimated, 1.1 * estimated) for estimated, _ in history], [actual for _, actual in history], level=0.8)
    assert found.too_narrow and found.probability == pytest.approx(stats.binom.cdf(found.hits, 60, 0.8), rel=1e-6)
    told = stats.binomtest(found.hits, 60).proportion_ci(0.95, method="wilson")
    assert (found.wilson.low, found.wilson.high) == (pytest.approx(told.low, abs=1e-9), pytest.approx(told.high, abs=1e-9))


def test_few_jobs_of_a_kind_are_drawn_towards_the_shop_and_many_are_not() -> None:
    """One kind takes twice its estimate, the shop 1.3 times: squared errors over 300 drawn kinds are smaller shrunk than not."""
    shop, truth = log_ratios(jobs(500, 4)), math.log(1.5)
    shrunk, own = [], []
    for seed in range(300):
        few = log_ratios(jobs(3, 1000 + seed, factor=1.5))
        found = drawn_towards(few, shop.calibration)
        assert found is not None
        shrunk.append((math.log(found.factor) - truth) ** 2)
        own.append((few.mean - truth) ** 2)
    assert np.mean(shrunk) < np.mean(own)
    many = drawn_towards(log_ratios(jobs(400, 5, factor=2.0)), shop.calibration)
    assert many is not None and many.factor == pytest.approx(2.0, rel=0.05)


def test_wilson_agrees_with_scipy_everywhere() -> None:
    for hits, n in ((0, 5), (5, 5), (12, 20), (1, 100)):
        told = stats.binomtest(hits, n).proportion_ci(0.95, method="wilson")
        assert tuple(wilson(hits, n)) == (pytest.approx(told.low, abs=1e-9), pytest.approx(told.high, abs=1e-9))
