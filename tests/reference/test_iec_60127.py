"""Fuses: IEC 60127-1 preferred ratings and IEC 60127-2 sheet 3 time-lag gates, both from memory of the standard."""

from __future__ import annotations

import math

import pytest

from app.electrics import PREFERRED_A, melting_time, preferred_fuse


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
