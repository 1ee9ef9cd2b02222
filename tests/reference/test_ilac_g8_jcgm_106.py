"""Decision rules: ILAC-G8:09/2019 pp. 9-10 (seen), JCGM 106 probability (from memory), ISO 14253-1 (from memory)."""

from __future__ import annotations

import pytest
from scipy.stats import norm

from app.electrics import judge, one_sided_guard

LIMIT, U = 0.500, 0.020


@pytest.mark.parametrize(
    ("value", "zone", "verdict", "probability"),
    [
        (0.470, "pass", "pass", 0.0013),
        (0.480, "pass", "pass", 0.0228),
        (0.500, "conditional pass", "undecided", 0.5000),
        (0.510, "conditional fail", "undecided", 0.8413),
    ],
)
def test_the_table_of_an_upper_limit(value: float, zone: str, verdict: str, probability: float) -> None:  # computed
    judgement = judge(value, upper=LIMIT, uncertainty=U)
    assert (judgement.zone, judgement.verdict) == (zone, verdict)
    assert judgement.false_accept_probability == pytest.approx(probability, abs=5e-5)
    assert judgement.false_accept_probability == pytest.approx(norm.sf(LIMIT, value, U / 2))
    assert judgement.accept_upper == 0.480


def test_simple_acceptance_moves_no_limit_and_risks_half() -> None:  # seen source: w = 0, up to 50 %
    on_the_limit = judge(LIMIT, upper=LIMIT, uncertainty=U, rule="simple")
    assert (on_the_limit.verdict, on_the_limit.accept_upper) == ("pass", LIMIT)
    assert on_the_limit.false_accept_probability == pytest.approx(0.5)


def test_a_guard_of_u_keeps_false_accepts_under_two_and_a_half_per_cent() -> None:  # seen source
    worst_pass = judge(0.480, upper=LIMIT, uncertainty=U)
    assert worst_pass.verdict == "pass"
    assert worst_pass.false_accept_probability < 0.025


def test_the_four_zones_meet_at_the_guard_band() -> None:  # seen source: bands at +w and -w
    zones = [judge(value, upper=LIMIT, uncertainty=U).zone for value in (0.4799, 0.4801, 0.5001, 0.5199, 0.5201)]
    assert zones == ["pass", "conditional pass", "conditional fail", "conditional fail", "fail"]


def test_the_one_sided_guard() -> None:  # computed; ISO 14253-1:2017 from memory
    assert one_sided_guard(U) == pytest.approx(0.01645, abs=5e-6)
    assert LIMIT - one_sided_guard(U) == pytest.approx(0.4835, abs=6e-5)
    assert norm.sf(LIMIT, LIMIT - one_sided_guard(U), U / 2) == pytest.approx(0.05)
