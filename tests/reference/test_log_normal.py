"""The shop's history as a log-normal: against scipy.stats.t, scipy.stats.lognorm, numerical integration."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from app.estimating import Calibration, LogNormal, calibrate, remaining, three_point, total

HISTORY = [(2, 3), (4, 4), (1, 2), (8, 7), (3, 3.5)]


def test_the_fit_is_the_geometric_mean_and_its_spread() -> None:
    logs = np.log([actual / estimated for estimated, actual in HISTORY])
    fitted = calibrate(HISTORY)
    assert fitted.factor == pytest.approx(stats.gmean(np.exp(logs)))
    assert fitted.log_sd == pytest.approx(logs.std(ddof=1))
    assert fitted.n == 5


@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.99])
def test_the_interval_is_students_predictive_one(level: float) -> None:
    fitted = calibrate(HISTORY)
    logs = np.log([actual / estimated for estimated, actual in HISTORY])
    reach = stats.t.interval(level, 4, loc=logs.mean(), scale=logs.std(ddof=1) * math.sqrt(1 + 1 / 5))
    assert tuple(fitted.interval(6, level)) == pytest.approx(tuple(6 * np.exp(reach)), rel=1e-9)


def test_intervals_hold_as_many_as_they_claim() -> None:
    """4,000 shops with six jobs each: 80 % intervals hold 80 % of the next job."""
    chance = np.random.default_rng(11)
    hits = 0
    for ratios in np.exp(chance.normal(0.2, 0.4, (4000, 7))):
        low, high = calibrate([(1, ratio) for ratio in ratios[:6]]).interval(1, 0.8)
        hits += low <= ratios[6] <= high
    assert hits / 4000 == pytest.approx(0.8, abs=0.02)


@given(st.floats(0.1, 50), st.floats(0.05, 1.2), st.floats(0.01, 3))
@settings(max_examples=40, deadline=None)
def test_remaining_is_the_mean_of_the_truncated_log_normal(median: float, log_sd: float, share: float) -> None:
    spent = median * share
    if (math.log(spent / median)) / log_sd > 5:
        return
    shape = stats.lognorm(log_sd, scale=median)
    over, _ = integrate.quad(
        lambda z: (median * math.exp(log_sd * z)) * stats.norm.pdf(z), math.log(share) / log_sd, 12, limit=200
    )
    expected = over / shape.sf(spent) - spent
    assert remaining(LogNormal(median, log_sd), spent=spent) == pytest.approx(expected, rel=1e-5, abs=1e-6)


def test_nothing_spent_leaves_the_mean() -> None:
    assert remaining(LogNormal(6, 0.4), spent=0) == pytest.approx(6 * math.exp(0.08))
    assert remaining(three_point(1, 2, 6), spent=0) == pytest.approx(2.5)
    assert remaining((1, 2, 6), spent=0) == pytest.approx(2.5)
    assert remaining(total([(1, 2, 6), (2, 3, 7)]), spent=0) == pytest.approx(6.0)


def test_a_range_is_matched_in_mean_and_variance() -> None:
    """The log-normal of mean 2.5 and variance 0.75 has σ² = ln(1 + 0.75/2.5²) (from memory)."""
    log_sd = math.sqrt(math.log(1.12))
    fitted = LogNormal(2.5 / math.sqrt(1.12), log_sd)
    assert remaining(three_point(1, 2, 6), spent=3) == pytest.approx(remaining(fitted, spent=3))


def test_a_calibrated_estimate_uses_factor_and_predictive_spread() -> None:
    fitted = Calibration(1.5, 0.4, 4)
    wide = LogNormal(6.0, 0.4 * math.sqrt(1.25))
    assert remaining(4, spent=2, calibration=fitted) == pytest.approx(remaining(wide, spent=2))
    assert remaining(fitted.of(4), spent=2) == pytest.approx(remaining(wide, spent=2))


@pytest.mark.parametrize("spent", [1e3, 1e6, 1e9])
def test_far_overdue_is_finite_and_grows(spent: float) -> None:
    """For a task long overdue the rest approaches spent · σ²/ln(spent/median): computed from Mills' ratio."""
    left = remaining(LogNormal(6, 0.5), spent=spent)
    assert left == pytest.approx(spent * 0.25 / math.log(spent / 6), rel=0.2)
