"""Judging: where a value stands between acceptance limit, limit and limit plus uncertainty, on either side."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import norm

from app.electrics import (
    ElectricsError,
    Judgement,
    bond_limit,
    expected_band,
    judge,
    meter_uncertainty,
    one_sided_guard,
    product_uncertainty,
)

VALUES = st.floats(-1e6, 1e6)
WIDTHS = st.floats(0, 1e5)


@pytest.mark.parametrize(
    ("value", "guarded", "simple"),
    [
        (0.1, "pass", "pass"),
        (0.48, "pass", "pass"),  # on the acceptance limit
        (0.4801, "undecided", "pass"),
        (0.5, "undecided", "pass"),  # on the limit
        (0.5001, "undecided", "fail"),  # beyond the limit, within the uncertainty
        (0.52, "undecided", "fail"),  # at limit + U
        (0.5201, "fail", "fail"),
    ],
)
def test_an_upper_limit_with_uncertainty(value: float, guarded: str, simple: str) -> None:
    assert judge(value, upper=0.5, uncertainty=0.02).verdict == guarded
    assert judge(value, upper=0.5, uncertainty=0.02, rule="simple").verdict == simple


@pytest.mark.parametrize(
    ("value", "verdict", "zone"),
    [
        (1.10, "pass", "pass"),
        (1.05, "pass", "pass"),
        (1.0499, "undecided", "conditional pass"),
        (1.0, "undecided", "conditional pass"),
        (0.9999, "undecided", "conditional fail"),
        (0.95, "undecided", "conditional fail"),
        (0.9499, "fail", "fail"),
    ],
)
def test_a_lower_limit_with_uncertainty(value: float, verdict: str, zone: str) -> None:
    judgement = judge(value, lower=1.0, uncertainty=0.05)
    assert (judgement.verdict, judgement.zone) == (verdict, zone)
    assert (judgement.accept_lower, judgement.accept_upper) == (1.05, None)


def test_two_limits_shrink_from_both_sides() -> None:
    judgement = judge(6.3, lower=5.985, upper=6.615, uncertainty=0.1)
    assert (judgement.accept_lower, judgement.accept_upper) == (6.085, 6.515)
    assert judgement.verdict == "pass"
    assert judgement.margin == pytest.approx(0.315)
    assert judgement.accept_margin == pytest.approx(0.215)
    for value, verdict in ((6.0, "undecided"), (5.9, "undecided"), (5.88, "fail"), (6.6, "undecided"), (6.72, "fail")):
        assert judge(value, lower=5.985, upper=6.615, uncertainty=0.1).verdict == verdict


def test_a_meter_worse_than_the_tolerance_can_never_pass() -> None:
    judgement = judge(10.0, lower=9.9, upper=10.1, uncertainty=0.2)
    assert judgement.verdict == "undecided"
    assert judgement.accept_lower is not None
    assert judgement.accept_upper is not None
    assert judgement.accept_lower > judgement.accept_upper
    assert judge(10.31, lower=9.9, upper=10.1, uncertainty=0.2).verdict == "fail"


@pytest.mark.parametrize("rule", ["guarded", "simple"])
def test_limits_are_inclusive_and_certain_without_uncertainty(rule: str) -> None:
    on = judge(0.3, lower=0.3, upper=0.3, rule=rule)
    assert (on.verdict, on.margin, on.false_accept_probability) == ("pass", 0.0, 0.0)
    above = judge(math.nextafter(0.3, 1.0), upper=0.3, rule=rule)
    assert (above.verdict, above.false_accept_probability, above.zone) == ("fail", 1.0, "fail")
    below = judge(math.nextafter(0.3, 0.0), lower=0.3, rule=rule)
    assert below.verdict == "fail"
    assert below.margin < 0


def test_limits_are_shrunk_in_decimal() -> None:
    # In binary 0.3 - 0.1 is 0.19999999999999998, which would turn a reading of 0.2 away.
    assert judge(0.2, upper=0.3, uncertainty=0.1) == Judgement("pass", 0.1, None, 0.2, judge(
        0.2, upper=0.3, uncertainty=0.1).false_accept_probability, 0.0, "pass")  # fmt: skip
    assert judge(0.4, lower=0.3, uncertainty=0.1).verdict == "pass"
    assert judge(0.4, upper=0.3, uncertainty=0.1).verdict == "undecided"


def test_an_unconfirmed_limit_is_named_so() -> None:
    from_memory = bond_limit(profile="as_nzs_3760", lead_metre=3, mm2=1)
    seen = bond_limit(profile="vde_0701_0702", lead_metre=3, mm2=1)
    assert judge(0.25, upper=from_memory).unconfirmed is True
    assert judge(0.25, upper=seen).unconfirmed is False
    assert judge(0.25, upper=0.3).unconfirmed is False
    assert judge(2e6, lower=from_memory, upper=1e9).unconfirmed is True


@pytest.mark.parametrize(
    "arguments",
    [
        {"value": math.nan, "upper": 1.0},
        {"value": math.inf, "upper": 1.0},
        {"value": 1.0},
        {"value": 1.0, "upper": math.nan},
        {"value": 1.0, "lower": -math.inf},
        {"value": 1.0, "lower": 2.0, "upper": 1.0},
        {"value": 1.0, "upper": 1.0, "uncertainty": -0.1},
        {"value": 1.0, "upper": 1.0, "uncertainty": math.nan},
        {"value": 1.0, "upper": 1.0, "uncertainty": math.inf},
        {"value": 1.0, "upper": 1.0, "rule": "kind"},
        {"value": True, "upper": 1.0},
        {"value": "0.2", "upper": 1.0},
    ],
)
def test_what_cannot_be_judged_is_refused(arguments: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        judge(**arguments)  # type: ignore[arg-type]


@given(value=VALUES, limit=VALUES, uncertainty=WIDTHS)
def test_guarded_is_never_kinder_than_simple(value: float, limit: float, uncertainty: float) -> None:
    guarded = judge(value, upper=limit, uncertainty=uncertainty)
    simple = judge(value, upper=limit, uncertainty=uncertainty, rule="simple")
    if guarded.verdict == "pass":
        assert simple.verdict == "pass"
    if guarded.verdict == "fail":
        assert simple.verdict == "fail"
    assert simple.verdict != "undecided"
    assert simple.accept_upper == limit
    assert simple.false_accept_probability == guarded.false_accept_probability


@given(value=VALUES, limit=VALUES, uncertainty=WIDTHS)
def test_a_guarded_pass_is_wrong_less_than_once_in_forty(value: float, limit: float, uncertainty: float) -> None:
    judgement = judge(value, upper=limit, uncertainty=uncertainty)
    assert 0.0 <= judgement.false_accept_probability <= 1.0
    # 1 - Phi(2) on the limit; the last place of a float may tip a value that stands on it.
    if judgement.verdict == "pass":
        assert judgement.false_accept_probability <= 0.0227502 or uncertainty < 1e-6
    if judgement.verdict == "fail":
        assert judgement.false_accept_probability >= 0.9772498 or uncertainty < 1e-6


@given(value=VALUES, low=VALUES, width=st.floats(0, 1e6), uncertainty=WIDTHS, more=WIDTHS)
def test_more_uncertainty_never_turns_anything_into_a_pass_or_a_fail(
    value: float, low: float, width: float, uncertainty: float, more: float
) -> None:
    less_sure = judge(value, lower=low, upper=low + width, uncertainty=uncertainty + more)
    surer = judge(value, lower=low, upper=low + width, uncertainty=uncertainty)
    if less_sure.verdict != "undecided":
        assert surer.verdict == less_sure.verdict


@given(value=VALUES, limit=VALUES, uncertainty=WIDTHS)
def test_lower_and_upper_mirror_each_other(value: float, limit: float, uncertainty: float) -> None:
    over = judge(value, upper=limit, uncertainty=uncertainty)
    under = judge(-value, lower=-limit, uncertainty=uncertainty)
    assert (over.verdict, over.margin, over.zone) == (under.verdict, under.margin, under.zone)
    assert over.false_accept_probability == pytest.approx(under.false_accept_probability)


@given(value=VALUES, step=st.floats(0, 1e5), limit=VALUES, uncertainty=WIDTHS)
def test_a_worse_reading_is_never_judged_better(value: float, step: float, limit: float, uncertainty: float) -> None:
    order = {"pass": 0, "undecided": 1, "fail": 2}
    better = judge(value, upper=limit, uncertainty=uncertainty)
    worse = judge(value + step, upper=limit, uncertainty=uncertainty)
    assert order[worse.verdict] >= order[better.verdict]
    assert worse.margin <= better.margin
    assert worse.false_accept_probability >= better.false_accept_probability - 1e-12


@given(value=st.floats(-10, 10), low=st.floats(-10, 10), width=st.floats(0, 10), u=st.floats(0.01, 5))
def test_probability_of_being_outside_is_what_both_tails_hold(value: float, low: float, width: float, u: float) -> None:
    expected = norm.cdf(low, value, u) + norm.sf(low + width, value, u)
    assert judge(value, lower=low, upper=low + width, uncertainty=2 * u).false_accept_probability == pytest.approx(
        min(1.0, expected), abs=1e-9
    )


@given(reading=st.floats(-1000, 1000), percent=st.floats(0, 5), counts=st.integers(0, 50), step=st.floats(1e-6, 1))
def test_meter_uncertainty_grows_with_each_part_of_the_statement(
    reading: float, percent: float, counts: int, step: float
) -> None:
    base = meter_uncertainty(reading, percent=percent, counts=counts, resolution=step)
    assert base == meter_uncertainty(-reading, percent=percent, counts=counts, resolution=step)
    assert meter_uncertainty(reading, percent=percent + 1, counts=counts, resolution=step) >= base
    assert meter_uncertainty(reading, percent=percent, counts=counts + 1, resolution=step) > base


def test_counts_without_a_resolution_are_refused() -> None:
    with pytest.raises(ElectricsError, match="value of one count"):
        meter_uncertainty(400.0, percent=0.5, counts=3)
    assert meter_uncertainty(400.0, percent=0.5) == pytest.approx(4.0 / math.sqrt(3.0))
    assert meter_uncertainty(0.0, percent=0.0) == 0.0
    for bad in ({"percent": -1.0}, {"percent": 1.0, "counts": -1, "resolution": 0.1}, {"percent": math.nan}):
        with pytest.raises(ElectricsError):
            meter_uncertainty(400.0, **bad)


def test_products_need_values() -> None:
    assert product_uncertainty([(10.0, 0.1)]) == pytest.approx((10.0, 0.1))
    assert product_uncertainty([(-10.0, 0.1), (2.0, 0.0)]) == pytest.approx((-20.0, 0.2))
    for bad in ([], [(0.0, 0.1)], [(1.0, -0.1)]):
        with pytest.raises(ElectricsError):
            product_uncertainty(bad)


def test_bands_add_and_root_sum_square() -> None:
    band = expected_band(-52.0, tolerances=[0.03, 0.04])
    assert (band.low, band.high) == pytest.approx((-55.64, -48.36))
    assert (band.rss_low, band.rss_high) == pytest.approx((-54.6, -49.4))
    assert expected_band(100.0, tolerances=[(0.1, -0.5), (0.02, 1.0)]).worst_share == pytest.approx(0.07)
    assert expected_band(-52.0, tolerances={"range": 0.03, "pot": 0.04}) == band
    assert expected_band(100.0, tolerances=()).high == 100.0
    for bad in ([-0.1], [1.0], [math.nan], [(0.1, math.nan)]):
        with pytest.raises(ElectricsError):
            expected_band(100.0, tolerances=bad)
    with pytest.raises(ElectricsError):
        expected_band(math.nan, tolerances=[0.1])


@given(nominal=st.floats(-1e4, 1e4), tolerances=st.lists(st.floats(0, 0.5), max_size=6), more=st.floats(0, 0.5))
def test_more_tolerance_never_narrows_a_band(nominal: float, tolerances: list[float], more: float) -> None:
    band = expected_band(nominal, tolerances=tolerances)
    wider = expected_band(nominal, tolerances=[*tolerances, more])
    assert wider.low <= band.low <= band.nominal <= band.high <= wider.high
    assert wider.rss_low <= band.rss_low
    assert band.worst_share >= band.rss_share * (1 - 1e-12)


def test_the_one_sided_guard_is_narrower_than_the_full_one() -> None:
    assert 0.0 < one_sided_guard(0.02) < 0.02
    with pytest.raises(ElectricsError):
        one_sided_guard(0.0)


@given(value=VALUES, limit=VALUES, uncertainty=WIDTHS)
def test_undecided_means_within_the_uncertainty_of_the_limit(value: float, limit: float, uncertainty: float) -> None:
    distance = abs(value - limit)
    assume(abs(distance - uncertainty) > 1e-6 * (abs(limit) + abs(uncertainty) + 1))
    verdict = judge(value, upper=limit, uncertainty=uncertainty).verdict
    assert (verdict == "undecided") == (distance < uncertainty)
