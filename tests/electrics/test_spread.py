"""Monte Carlo: seeded, vectorised, and in step with what can be worked out by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import ElectricsError, bias_volts, expected_band, simulate, triode_stage, triode_stage_samples


def divider(*, supply_v: Any, top_ohm: Any, bottom_ohm: Any) -> Any:
    return supply_v * bottom_ohm / (top_ohm + bottom_ohm)


DIVIDER = {"supply_v": -62.76, "top_ohm": 15e3, "bottom_ohm": 27e3}


def test_same_seed_same_spread_and_another_seed_another() -> None:
    tolerances = {"top_ohm": 0.1, "bottom_ohm": 0.1}
    first, again, other = (
        simulate(divider, nominal=DIVIDER, tolerances=tolerances, seed=seed)["value"] for seed in (7, 7, 8)
    )
    assert np.array_equal(first.samples, again.samples)
    assert not np.array_equal(first.samples, other.samples)
    swapped = simulate(divider, nominal=DIVIDER, tolerances=dict(reversed(tolerances.items())), seed=7)["value"]
    assert np.array_equal(first.samples, swapped.samples)


def test_a_uniform_part_spreads_as_theory_says() -> None:
    spread = simulate(lambda ohm: ohm, nominal={"ohm": 1000.0}, tolerances={"ohm": 0.1}, samples=200_000)["value"]
    assert spread.nominal == 1000.0
    assert spread.mean == pytest.approx(1000.0, abs=0.6)
    assert spread.sd == pytest.approx(200.0 / math.sqrt(12.0), rel=0.01)  # rectangular: width / sqrt 12
    assert spread.p05 == pytest.approx(910.0, abs=1.0)
    assert spread.p50 == pytest.approx(1000.0, abs=1.0)
    assert spread.p95 == pytest.approx(1090.0, abs=1.0)
    assert 900.0 <= spread.low < 901.0
    assert 1099.0 < spread.high <= 1100.0
    assert spread.share_outside(lower=950.0) == pytest.approx(0.25, abs=0.01)
    assert spread.share_outside(upper=1050.0, lower=950.0) == pytest.approx(0.5, abs=0.01)
    assert spread.share_outside() == 0.0


def test_a_normal_part_keeps_within_its_tolerance() -> None:
    spread = simulate(
        lambda ohm: ohm, nominal={"ohm": 1000.0}, tolerances={"ohm": 0.1}, samples=100_000, distribution="normal"
    )["value"]
    assert spread.sd == pytest.approx(100.0 / 3.0, rel=0.02)
    assert spread.low >= 900.0
    assert spread.high <= 1100.0


def test_small_tolerances_agree_with_the_root_sum_square() -> None:
    tolerances = {"a": 0.02, "b": 0.03, "c": 0.01}
    spread = simulate(lambda a, b, c: a * b / c, nominal={"a": 2.0, "b": 3.0, "c": 4.0}, tolerances=tolerances)["value"]
    band = expected_band(1.5, tolerances=tolerances.values())
    # Rectangular parts: sd is the root sum of squares of the half widths over sqrt 3.
    assert spread.sd == pytest.approx(band.rss_share * 1.5 / math.sqrt(3.0), rel=0.03)
    assert spread.high <= band.high * 1.001


@given(tolerance=st.floats(0.001, 0.4), more=st.floats(1.05, 2.0))
@settings(max_examples=30)
def test_more_tolerance_wider_spread(tolerance: float, more: float) -> None:
    narrow = simulate(divider, nominal=DIVIDER, tolerances={"top_ohm": tolerance}, samples=500)["value"]
    wide = simulate(divider, nominal=DIVIDER, tolerances={"top_ohm": tolerance * more}, samples=500)["value"]
    assert wide.high - wide.low > narrow.high - narrow.low


@dataclass(frozen=True)
class Two:
    volt: Any
    watt: Any
    verdict: str = "as is"
    missing: Any = None


def test_any_shape_of_result_is_taken() -> None:
    def mapping(ohm: Any, layout: str) -> dict[str, Any]:
        return {"double": 2 * ohm, "fixed": 5.0, "layout": layout}

    spreads = simulate(mapping, nominal={"ohm": 10.0, "layout": "divider"}, tolerances={"ohm": 0.1})
    assert set(spreads) == {"double", "fixed"}
    assert (spreads["fixed"].sd, spreads["fixed"].mean) == (0.0, 5.0)
    two = simulate(lambda ohm: Two(ohm * 0.1, ohm * 0.01), nominal={"ohm": 10.0}, tolerances={"ohm": 0.1})
    assert set(two) == {"volt", "watt"}


def test_a_solver_of_single_numbers_is_called_once_a_sample() -> None:
    arrays = simulate(lambda x: np.log(x), nominal={"x": 10.0}, tolerances={"x": 0.1}, samples=200)["value"]
    singles = simulate(lambda x: math.log(x), nominal={"x": 10.0}, tolerances={"x": 0.1}, samples=200, arrays=False)
    assert singles["value"].samples == pytest.approx(arrays.samples)


def test_no_tolerance_no_spread() -> None:
    spread = simulate(divider, nominal=DIVIDER, tolerances={"top_ohm": 0.0})["value"]
    assert spread.low == spread.high == pytest.approx(spread.nominal)


def test_samples_cannot_be_changed_afterwards() -> None:
    spread = simulate(divider, nominal=DIVIDER, tolerances={"top_ohm": 0.1})["value"]
    with pytest.raises(ValueError, match="read-only"):
        spread.samples[0] = 0.0


BIAS = {
    "tap_vrms": 50.0, "mains_hz": 50.0, "series_ohm": 470.0, "reservoir_farad": 50e-6, "range_ohm": 15e3,
    "pot_ohm": 10e3, "load_ohm": 110e3, "layout": "divider", "travel": 0.5,
}  # fmt: skip


def test_a_carbon_range_part_spreads_the_bias_wider_than_a_film_one() -> None:
    carbon = simulate(bias_volts, nominal=BIAS, tolerances={"range_ohm": 0.10})["value"]
    film = simulate(bias_volts, nominal=BIAS, tolerances={"range_ohm": 0.01})["value"]
    assert carbon.nominal == film.nominal
    assert carbon.sd == pytest.approx(10 * film.sd, rel=0.1)


def test_ten_thousand_stages_spread_about_the_single_one() -> None:
    nominal = {"valve": "12AX7", "supply_v": 300.0, "anode_ohm": 100e3, "cathode_ohm": 1500.0, "next_grid_ohm": 1e6}
    tolerances = {"supply_v": 0.05, "anode_ohm": 0.1, "cathode_ohm": 0.1}
    spreads = simulate(triode_stage_samples, nominal=nominal, tolerances=tolerances)
    single = triode_stage(**nominal)  # type: ignore[arg-type]
    assert spreads["gain"].nominal == pytest.approx(single.gain)
    assert spreads["anode_v"].low < single.anode_v < spreads["anode_v"].high


@pytest.mark.parametrize(
    "wrong",
    [
        {"tolerances": {"other": 0.1}}, {"tolerances": {"ohm": 1.0}}, {"tolerances": {"ohm": -0.1}},
        {"tolerances": {"ohm": math.nan}}, {"nominal": {"ohm": math.nan}}, {"samples": 1}, {"samples": 2_000_000},
        {"samples": 10.0}, {"seed": -1}, {"seed": 1.5}, {"distribution": "triangular"}, {"nominal": {"ohm": "ten"}},
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused(wrong: dict[str, Any]) -> None:
    arguments: dict[str, Any] = {"nominal": {"ohm": 10.0}, "tolerances": {"ohm": 0.1}, **wrong}
    with pytest.raises(ElectricsError):
        simulate(lambda ohm: ohm, **arguments)


def test_results_that_are_no_numbers_or_not_finite_are_refused() -> None:
    with pytest.raises(ElectricsError, match="returns numbers"):
        simulate(lambda ohm: "ten", nominal={"ohm": 10.0}, tolerances={"ohm": 0.1})
    with pytest.raises(ElectricsError, match="not finite"):
        simulate(lambda ohm: np.where(ohm > 10.0, np.nan, ohm), nominal={"ohm": 10.0}, tolerances={"ohm": 0.1})
