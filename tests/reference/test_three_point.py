"""Beta-PERT against scipy.stats.beta, hand-worked rows, and a large simulation.

Means and (b − a)/6 are the published rule; beta variances, percentiles and the simulation of two million rounds
are computed.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from app.estimating import EstimateError, three_point, total

TASKS = [(1, 2, 6), (0.5, 1, 2.5), (2, 3, 7), (0.25, 0.5, 0.75)]


@pytest.mark.parametrize(
    ("figures", "mean", "classic", "variance"),
    [
        (TASKS[0], 2.5000, 0.6944, 0.7500),
        (TASKS[1], 1.1667, 0.1111, 0.1270),
        (TASKS[2], 3.5000, 0.6944, 0.7500),
        (TASKS[3], 0.5000, 0.00694, 0.00893),
    ],
)
def test_worked_rows(figures: tuple[float, float, float], mean: float, classic: float, variance: float) -> None:
    task = three_point(*figures)
    assert task.mean == pytest.approx(mean, abs=5e-5)
    assert task.classic_variance == pytest.approx(classic, abs=5e-5)
    assert task.variance == pytest.approx(variance, abs=5e-5)


@settings(deadline=None)
@given(st.tuples(*[st.floats(0, 1000)] * 3).map(sorted))
def test_mean_and_variance_are_those_of_the_beta(figures: list[float]) -> None:
    low, likely, high = figures
    task = three_point(low, likely, high)
    if high - low < 1e-6:
        return
    alpha, beta = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
    mean, variance = stats.beta.stats(alpha, beta, loc=low, scale=high - low, moments="mv")
    assert task.mean == pytest.approx(float(mean), rel=1e-9)
    assert task.variance == pytest.approx(float(variance), rel=1e-9)


def test_the_sum_of_four_tasks() -> None:
    """Simulation of two million rounds: P50 7.578, P80 8.745, P90 9.382, each to 0.01."""
    whole = total(TASKS)
    assert (whole.p50, whole.p80, whole.p90) == pytest.approx((7.578, 8.745, 9.382), abs=0.01)
    assert whole.mean == pytest.approx(7.6667, abs=5e-5)
    assert whole.sd == pytest.approx(1.2790, abs=5e-5)
    classic = sum(three_point(*task).classic_variance for task in TASKS)
    assert classic == pytest.approx(1.5069, abs=5e-5)


@pytest.mark.parametrize("correlation", [0.0, 0.3, 0.7, 0.95])
def test_percentiles_against_a_simulation_with_scipy(correlation: float) -> None:
    tasks = [(2, 2, 9), (1, 4, 5), (0, 1, 8)]
    chance, rounds = np.random.default_rng(5), 120_000
    common = chance.standard_normal(rounds)
    hours = np.zeros(rounds)
    for low, likely, high in tasks:
        own = chance.standard_normal(rounds)
        level = stats.norm.cdf(np.sqrt(correlation) * common + np.sqrt(1 - correlation) * own)
        width = high - low
        hours += stats.beta.ppf(
            level, 1 + 4 * (likely - low) / width, 1 + 4 * (high - likely) / width, loc=low, scale=width
        )
    whole = total(tasks, correlation=correlation)
    expected = np.percentile(hours, [10, 50, 80, 90])
    assert (whole.p10, whole.p50, whole.p80, whole.p90) == pytest.approx(tuple(expected), abs=0.03)


def test_one_task_alone_and_all_together_have_the_percentiles_of_the_beta() -> None:
    one = total([(1, 2, 6)], correlation=0.4)
    beta = stats.beta(1.8, 4.2, loc=1, scale=5)
    assert (one.p10, one.p90) == pytest.approx((beta.ppf(0.1), beta.ppf(0.9)), rel=1e-9)
    both = total([(1, 2, 6)] * 2, correlation=1)
    assert (both.p10, both.p90, both.sd) == pytest.approx((2 * one.p10, 2 * one.p90, 2 * one.sd), rel=1e-9)


@given(st.lists(st.tuples(*[st.floats(0, 50)] * 3).map(sorted), min_size=1, max_size=4), st.floats(0, 1))
@settings(max_examples=40, deadline=None)
def test_a_sum_is_ordered_and_stays_within_its_ends(tasks: list[list[float]], correlation: float) -> None:
    whole = total(tasks, correlation=correlation)
    low, high = sum(task[0] for task in tasks), sum(task[2] for task in tasks)
    slack = 1e-9 * (1 + high)
    ladder = [low - slack, whole.p10, whole.p50, whole.p80, whole.p90, high + slack]
    assert ladder == sorted(ladder)
    assert total(tasks).sd <= whole.sd + slack


def test_more_correlation_widens_the_range() -> None:
    spread = [total(TASKS, correlation=c).p90 - total(TASKS, correlation=c).p10 for c in (0, 0.25, 0.5, 0.75, 1)]
    assert spread == sorted(spread)


def test_a_task_without_spread_is_a_constant() -> None:
    assert three_point(2, 2, 2).variance == 0
    assert total([(2, 2, 2)]).p90 == 2
    assert total([(2, 2, 2), (1, 2, 6)]).p90 == pytest.approx(2 + total([(1, 2, 6)]).p90)


@pytest.mark.parametrize(
    ("figures", "argument"),
    [
        ((3, 2, 6), "likely"),
        ((1, 7, 6), "high"),
        ((-1, 2, 6), "low"),
        ((1, float("nan"), 6), "likely"),
        ((1, 2, float("inf")), "high"),
        (("1", 2, 6), "low"),
        ((True, 2, 6), "low"),
    ],
)
def test_figures_out_of_order_are_refused(figures: tuple[float, float, float], argument: str) -> None:
    with pytest.raises(EstimateError) as refused:
        three_point(*figures)
    assert refused.value.argument == argument
    assert argument in str(refused.value)


@pytest.mark.parametrize("correlation", [-0.1, 1.1, float("nan")])
def test_a_correlation_out_of_range_is_refused(correlation: float) -> None:
    with pytest.raises(EstimateError, match="correlation"):
        total(TASKS, correlation=correlation)
    with pytest.raises(EstimateError, match="tasks"):
        total([])
    with pytest.raises(EstimateError, match="tasks"):
        total([(1, 2)])
