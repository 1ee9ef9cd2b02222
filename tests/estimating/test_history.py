"""The shop's own history, and what it may not hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.estimating import Calibration, EstimateError, LogNormal, calibrate, remaining, shrunk
from app.estimating.history import LogRatios, drawn_towards, log_ratios

SHOP = [(2, 3), (4, 4), (1, 2), (8, 7), (3, 3.5), (2, 2.2)]
HOURS = st.floats(0.1, 100)


@settings(deadline=None)
@given(st.lists(st.tuples(HOURS, HOURS), min_size=2, max_size=9), st.floats(0.1, 10))
def test_estimates_in_another_unit_change_the_factor_only(pairs: list[tuple[float, float]], unit: float) -> None:
    one, other = calibrate(pairs), calibrate([(estimated * unit, actual) for estimated, actual in pairs])
    assert other.factor * unit == pytest.approx(one.factor)
    assert other.log_sd == pytest.approx(one.log_sd, abs=1e-9)


def test_a_higher_level_is_a_wider_interval_about_the_same_middle() -> None:
    fitted = calibrate(SHOP)
    last_low, last_high = math.inf, 0.0
    for level in (0.5, 0.8, 0.9, 0.95):
        low, high = fitted.interval(6, level)
        assert low < last_low and high > last_high
        assert math.sqrt(low * high) == pytest.approx(6 * fitted.factor)
        last_low, last_high = low, high


def test_a_kind_without_pairs_is_the_shop_and_one_with_many_is_itself() -> None:
    assert shrunk([], SHOP) == calibrate(SHOP)
    many = [(1, 3.0), (1, 2.8)] * 500
    assert shrunk(many, SHOP).factor == pytest.approx(calibrate(many).factor, rel=0.01)
    assert shrunk(many, SHOP).log_sd == pytest.approx(calibrate(many).log_sd, abs=0.02)


def test_one_pair_moves_the_factor_a_sixth_of_the_way() -> None:
    """One pair against a shop mean worth five (computed)."""
    shop = calibrate(SHOP)
    drawn = shrunk([(1, 4.0)], SHOP)
    share = math.log(drawn.factor / shop.factor) / math.log(4.0 / shop.factor)
    assert share == pytest.approx(1 / 6)
    assert drawn.log_sd == pytest.approx(shop.log_sd)
    assert shrunk([(1, 4.0)], SHOP, worth=1).factor > drawn.factor


@settings(deadline=None)
@given(st.lists(st.tuples(HOURS, HOURS), max_size=12))
def test_a_drawn_factor_lies_between_kind_and_shop(kind: list[tuple[float, float]]) -> None:
    shop = calibrate(SHOP).factor
    own = math.exp(sum(math.log(a / e) for e, a in kind) / len(kind)) if kind else shop
    slack = 1e-9 * (own + shop)
    assert min(own, shop) - slack <= shrunk(kind, SHOP).factor <= max(own, shop) + slack


@pytest.mark.parametrize(
    "pairs", [[], [(1, 2)], [(1, 2), (0, 1)], [(1, 2), (1, -1)], [(1, 2), (1,)], [(1, 2), (1, float("inf"))], [1, 2]]
)
def test_a_history_that_is_none_is_refused(pairs: list[tuple[float, float]]) -> None:
    with pytest.raises(EstimateError, match="history"):
        calibrate(pairs)


def test_what_a_calibration_may_not_be() -> None:
    for wrong in ((0, 0.4, 4), (1, -0.4, 4), (1, 0.4, 1), (1, 99, 4), (float("nan"), 0.4, 4)):
        with pytest.raises(EstimateError):
            Calibration(*wrong)  # type: ignore[arg-type]
    for level in (0, 1, 80, -0.5):
        with pytest.raises(EstimateError, match="level"):
            calibrate(SHOP).interval(6, level)
    with pytest.raises(EstimateError, match="estimate"):
        calibrate(SHOP).interval(0, 0.8)


@pytest.mark.parametrize("estimate", [0, -1, float("nan"), "6", (1, 2), (0, 0, 0)])
def test_an_estimate_that_is_none_is_refused(estimate: float) -> None:
    with pytest.raises(EstimateError):
        remaining(estimate, spent=1)


def test_hours_spent_below_zero_are_refused() -> None:
    with pytest.raises(EstimateError, match="spent"):
        remaining(6, spent=-1)
    with pytest.raises(EstimateError, match="log_sd"):
        remaining(6, spent=1, log_sd=-1)


def test_an_exact_estimate_leaves_what_is_not_spent() -> None:
    assert remaining((3, 3, 3), spent=1) == pytest.approx(2)
    assert remaining((3, 3, 3), spent=4) == 0
    assert remaining(LogNormal(3, 0), spent=0) == 3


@settings(deadline=None)
@given(st.floats(0.5, 50), st.floats(0.05, 1.5), st.lists(st.floats(0, 200), min_size=2, max_size=5))
def test_the_expected_total_never_falls_as_hours_are_spent(
    median: float, log_sd: float, spent: list[float]
) -> None:
    totals = [hours + remaining(median, spent=hours, log_sd=log_sd) for hours in sorted(spent)]
    for less, more in zip(totals, totals[1:], strict=False):
        assert more >= less * (1 - 1e-9)


def test_sums_of_pairs_calibrate_as_the_pairs_themselves() -> None:
    """Against numpy's mean and deviation of the logarithms, and the precision-weighted form written out with them."""
    chance = np.random.default_rng(3)
    shop = [(1.0, float(ratio)) for ratio in np.exp(chance.normal(0.2, 0.4, 30))]
    logs = np.log([ratio for _, ratio in shop])
    whole = log_ratios(shop).calibration
    assert (whole.n, math.log(whole.factor), whole.log_sd) == (30, pytest.approx(logs.mean()), pytest.approx(logs.std(ddof=1)))
    for few in (1, 2, 12):
        own = logs[:few]
        drawn = drawn_towards(log_ratios(shop[:few]), whole)
        assert math.log(drawn.factor) == pytest.approx((own.sum() + 5 * logs.mean()) / (few + 5))
        pooled = (((own - own.mean()) ** 2).sum() + 5 * logs.var(ddof=1)) / (few - 1 + 5)
        assert drawn.log_sd == pytest.approx(math.sqrt(pooled)) and drawn.n == few + 5
        assert shrunk(shop[:few], shop).factor == pytest.approx(drawn.factor)
    assert drawn_towards(LogRatios(), whole) == whole
    with pytest.raises(EstimateError):
        _ = log_ratios(shop[:1]).calibration
