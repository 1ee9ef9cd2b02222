"""Fuses: IEC 60127-1 preferred ratings and IEC 60127-2 sheet 3 time-lag gates, both from memory of the standard."""

from __future__ import annotations

import math

import pytest

from app.electrics import PREFERRED_A, PREFERRED_UL_A, ElectricsError, melting_time, preferred_fuse


def test_the_ratings() -> None:  # from memory
    milliamps = [32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800]
    amps = [1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10]
    assert list(PREFERRED_A) == [value / 1000 for value in milliamps] + amps


def test_the_ratings_are_the_r10_series() -> None:  # computed: ratio 1.2589, members rounded to within 2 %
    assert pytest.approx(1.2589, abs=5e-5) == 10**0.1
    exact = [10 ** (step / 10) for step in range(-15, 11)]
    assert list(PREFERRED_A) == pytest.approx(exact, rel=0.02)


@pytest.mark.parametrize("rating", PREFERRED_A)
def test_every_choice_is_a_preferred_rating(rating: float) -> None:
    # 1.25 times the running current is common practice, no source.
    assert preferred_fuse(va=rating / 1.25 * 230, mains_v=230) == rating
    if rating < 10.0:
        assert preferred_fuse(va=rating / 1.25 * 230 * 1.001, mains_v=230) > rating


@pytest.mark.parametrize(
    ("multiple", "least", "most"),
    [(1.5, 3600, math.inf), (2.1, 0, 120), (2.75, 0.6, 10), (4, 0.15, 3), (10, 0.020, 0.300)],
)
def test_time_lag_gates(multiple: float, least: float, most: float) -> None:  # from memory
    assert melting_time(multiple) == (least, most)


def test_a_time_lag_fuse_outlives_the_inrush_of_a_transformer() -> None:  # from memory: ten times for 20 ms at least
    least, _most = melting_time(10)
    assert least >= 1 / 50


# Ratings of UL 248-14 fuses as catalogues list them, from memory.
UL_MARKS = [("1/10", 0.1), ("1/8", 0.125), ("1/4", 0.25), ("3/8", 0.375), ("1/2", 0.5), ("3/4", 0.75), ("1", 1.0), ("1-1/4", 1.25),
            ("1-1/2", 1.5), ("2", 2.0), ("2-1/2", 2.5), ("3", 3.0), ("5", 5.0), ("10", 10.0)]


@pytest.mark.parametrize(("mark", "rating"), UL_MARKS)
def test_a_north_american_fuse_is_named_by_its_fraction(mark: str, rating: float) -> None:
    assert rating in PREFERRED_UL_A
    found = preferred_fuse(va=rating * 0.75 * 120, mains_v=120, region="UL")
    assert found == rating and found.marking == f"{mark} A slow-blow"


@pytest.mark.parametrize("rating", PREFERRED_UL_A)
def test_a_north_american_fuse_runs_at_three_quarters_at_most(rating: float) -> None:  # from memory
    assert preferred_fuse(va=rating * 0.75 * 120, mains_v=120, region="UL") == rating
    if rating < 10.0:
        assert preferred_fuse(va=rating * 0.75 * 120 * 1.001, mains_v=120, region="UL") > rating


def test_the_same_amp_takes_another_number_in_the_other_region() -> None:
    """150 VA at 120 V is 1.25 A: IEC 1.6 A carries it, a UL fuse of 1.6 A would not at 75 %."""
    assert preferred_fuse(va=150, mains_v=120).marking == "T1.6A"
    assert preferred_fuse(va=150, mains_v=120, region="UL").marking == "2 A slow-blow"
    assert preferred_fuse(va=150, mains_v=120, inrush=False, region="UL").marking == "2 A fast-acting"


def test_another_region_is_refused() -> None:
    with pytest.raises(ElectricsError):
        preferred_fuse(va=150, mains_v=120, region="JP")
