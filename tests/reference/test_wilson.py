"""Coverage of intervals: Wilson's interval against scipy, the binomial chance of so few hits, scores by hand.

The case of 12 hits in 20 was computed beforehand; the other references are scipy.stats.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from app.estimating import EstimateError, coverage, interval_score, pinball, wilson


def test_twelve_of_twenty_cannot_be_eighty_per_cent() -> None:
    seen = coverage([(4, 8)] * 20, [4.0] * 6 + [8.0] * 6 + [3.99] * 4 + [8.01] * 4)
    assert (seen.hits, seen.n, seen.flag, seen.too_narrow, seen.too_wide) == (12, 20, True, True, False)
    assert tuple(seen.wilson) == pytest.approx((0.387, 0.781), abs=5e-4)
    assert seen.probability == pytest.approx(0.032, abs=5e-4)


@settings(deadline=None)
@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), st.floats(0.5, 0.99))
def test_wilson_is_that_of_scipy(case: tuple[int, int], level: float) -> None:
    hits, n = case
    expected = stats.binomtest(hits, n).proportion_ci(confidence_level=level, method="wilson")
    got = wilson(hits, n, level=level)
    assert tuple(got) == pytest.approx((expected.low, expected.high), abs=1e-9)


@settings(deadline=None)
@given(st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), st.floats(0.5, 0.95))
def test_the_flag_is_a_binomial_test_of_either_side(case: tuple[int, int], level: float) -> None:
    hits, n = case
    seen = coverage([(0, 1)] * n, [0.5] * hits + [2.0] * (n - hits), level=level)
    few = stats.binomtest(hits, n, level, alternative="less").pvalue
    many = stats.binomtest(hits, n, level, alternative="greater").pvalue
    if abs(min(few, many) - 0.05) > 1e-9:
        assert seen.flag is bool(min(few, many) < 0.05)
    assert seen.probability == pytest.approx(min(few, many), rel=1e-6)


def test_intervals_that_always_hold_are_too_wide() -> None:
    seen = coverage([(0, 100)] * 20, range(20))
    assert (seen.hits, seen.flag, seen.too_wide) == (20, True, True)


@pytest.mark.parametrize(
    ("intervals", "actuals"), [([], []), ([(1, 2)], [1, 2]), ([(2, 1)], [1]), ([(1, 2, 3)], [1])]
)
def test_broken_intervals_are_refused(intervals: list[tuple[float, ...]], actuals: list[float]) -> None:
    with pytest.raises(EstimateError):
        coverage(intervals, actuals)


def test_a_share_that_is_none_is_refused() -> None:
    for hits, n in ((-1, 5), (6, 5), (0, 0)):
        with pytest.raises(EstimateError):
            wilson(hits, n)
    with pytest.raises(EstimateError, match="level"):
        coverage([(1, 2)], [1], level=80)


def test_scores_by_hand() -> None:
    """Winkler [4, 8] at alpha 0.2: 6 scores 4, 10 scores 24. Pinball 0.9 of 8: 10 scores 1.8, 6 scores 0.2."""
    assert interval_score(4, 8, 6, alpha=0.2) == pytest.approx(4)
    assert interval_score(4, 8, 10, alpha=0.2) == pytest.approx(24)
    assert interval_score(4, 8, 3, alpha=0.2) == pytest.approx(14)
    assert pinball(8, 10, q=0.9) == pytest.approx(1.8)
    assert pinball(8, 6, q=0.9) == pytest.approx(0.2)
    with pytest.raises(EstimateError):
        interval_score(8, 4, 6)
