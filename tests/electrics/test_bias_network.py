"""The bias supply's network: ends of the pot, the lifted wiper, and what parts out of value do."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import BiasRange, ElectricsError, bias_network, bias_volts, capacitor_input, simulate

DIVIDER = {
    "tap_vrms": 50.0,
    "mains_hz": 50.0,
    "series_ohm": 470.0,
    "reservoir_farad": 50e-6,
    "range_ohm": 27e3,
    "pot_ohm": 15e3,
    "load_ohm": 110e3,
    "layout": "divider",
}
RHEOSTAT = {**DIVIDER, "range_ohm": 15e3, "pot_ohm": 25e3, "floor_ohm": 10e3, "layout": "pot_to_ground"}


def solve(base: dict[str, Any], **changed: Any) -> BiasRange:
    return bias_network(**{**base, **changed})


def reservoir(load_ohm: float) -> float:
    return capacitor_input(
        secondary_vrms=50.0,
        rectifier="half_wave",
        source_ohm=470.0,
        reservoir_farad=50e-6,
        mains_hz=50.0,
        load_ohm=load_ohm,
    ).mean_v


def parallel(*ohms: float) -> float:
    return 1.0 / sum(1.0 / ohm for ohm in ohms)


def test_divider_by_hand_from_the_supply() -> None:
    bias = solve(DIVIDER)
    low = parallel(27e3, 110e3)
    assert bias.hottest_v == pytest.approx(-reservoir(15e3 + low) * low / (15e3 + low), rel=3e-4)
    assert bias.coldest_v == pytest.approx(-reservoir(parallel(42e3, 110e3)), rel=3e-4)
    half = parallel(34.5e3, 110e3)
    assert bias.mid_v == pytest.approx(-reservoir(7.5e3 + half) * half / (7.5e3 + half), rel=3e-4)


def test_pot_to_ground_by_hand_from_the_supply() -> None:
    bias = solve(RHEOSTAT)
    for volts, leg in ((bias.hottest_v, 10e3), (bias.mid_v, 22.5e3), (bias.coldest_v, 35e3)):
        low = parallel(leg, 110e3)
        assert volts == pytest.approx(-reservoir(15e3 + low) * low / (15e3 + low), rel=3e-4)
    assert bias.wiper_open_v == pytest.approx(-reservoir(125e3) * 110e3 / 125e3, rel=3e-4)
    assert bias.reservoir_v == pytest.approx(-reservoir(125e3), rel=3e-4)


def test_a_divider_loses_all_bias_with_its_wiper_and_says_so() -> None:
    bias = solve(DIVIDER)
    assert bias.wiper_open_v == 0.0
    assert bias.lifted_wiper_hotter is True
    assert bias.reservoir_v == pytest.approx(-reservoir(42e3), rel=3e-4)


def test_a_rheostat_in_the_ground_leg_goes_colder_with_its_wiper() -> None:
    bias = solve(RHEOSTAT)
    assert bias.wiper_open_v < bias.coldest_v
    assert bias.lifted_wiper_hotter is False


def test_a_rheostat_without_a_floor_reaches_no_bias_at_all() -> None:
    assert solve(RHEOSTAT, floor_ohm=0.0).hottest_v == 0.0


@pytest.mark.parametrize("base", [DIVIDER, RHEOSTAT])
def test_a_drifting_carbon_range_resistor_is_worse_than_metal_film(base: dict[str, Any]) -> None:
    """Common practice, no source: 10 % carbon against 1 % metal film, everything else 1 %."""
    film = solve(base, tolerance=0.01)
    carbon = solve(base, tolerance=0.01, range_tolerance=0.10)
    assert carbon.hottest_worst_v > film.hottest_worst_v
    assert carbon.coldest_worst_v < film.coldest_worst_v
    film_moves = abs(film.mid_range_high_v - film.mid_range_low_v)
    carbon_moves = abs(carbon.mid_range_high_v - carbon.mid_range_low_v)
    assert carbon_moves == pytest.approx(10.0 * film_moves, rel=0.02)
    assert film_moves < 0.4
    assert carbon_moves > 1.5
    assert (carbon.hottest_v, carbon.mid_v) == pytest.approx((film.hottest_v, film.mid_v), rel=1e-9)


def test_which_way_a_range_resistor_that_goes_high_moves_the_bias() -> None:
    """Carbon goes high with age: above the feed that is hotter, below it colder."""
    above, below = solve(RHEOSTAT, range_tolerance=0.1), solve(DIVIDER, range_tolerance=0.1)
    assert above.mid_range_low_v < above.mid_v < above.mid_range_high_v
    assert below.mid_range_high_v < below.mid_v < below.mid_range_low_v


def test_no_tolerance_no_spread() -> None:
    bias = solve(DIVIDER)
    assert bias.hottest_worst_v == bias.hottest_v
    assert bias.coldest_worst_v == bias.coldest_v
    assert bias.mid_range_low_v == bias.mid_v == bias.mid_range_high_v


def test_worst_corner_of_a_divider() -> None:
    """Hottest: series and pot high, range and leaks low."""
    bias = solve(DIVIDER, tolerance=0.05)
    corner = solve(DIVIDER, series_ohm=470.0 * 1.05, pot_ohm=15e3 * 1.05, range_ohm=27e3 * 0.95, load_ohm=110e3 * 0.95)
    assert bias.hottest_worst_v == pytest.approx(corner.hottest_v, rel=1e-6)


def test_the_cold_end_gives_least_where_the_range_part_is_high_and_the_rest_low() -> None:
    """The rheostat's cold end: what stands above it high, the pot and the leaks low, one corner worked out by itself."""
    bias = solve(RHEOSTAT, tolerance=0.05)
    corner = solve(RHEOSTAT, **{name: RHEOSTAT[name] * (1.05 if name in ("series_ohm", "range_ohm") else 0.95)
                                for name in ("series_ohm", "range_ohm", "pot_ohm", "load_ohm", "floor_ohm") if name in RHEOSTAT})
    assert bias.coldest_least_v == pytest.approx(corner.coldest_v, rel=1e-6)
    assert bias.coldest_worst_v < bias.coldest_v < bias.coldest_least_v


def test_mains_moves_the_bias_with_it() -> None:
    steady, swaying = solve(DIVIDER), solve(DIVIDER, mains_tolerance=0.10)
    assert swaying.hottest_worst_v == pytest.approx(0.9 * steady.hottest_v, rel=2e-3)
    assert swaying.coldest_worst_v == pytest.approx(1.1 * steady.coldest_v, rel=2e-3)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    base=st.sampled_from([DIVIDER, RHEOSTAT]),
    range_ohm=st.floats(2e3, 100e3),
    pot_ohm=st.floats(2e3, 100e3),
    load_ohm=st.floats(20e3, 1e6),
    tolerance=st.floats(0.0, 0.2),
    more=st.floats(0.01, 0.2),
)
def test_more_tolerance_wider_band(
    base: dict[str, Any], range_ohm: float, pot_ohm: float, load_ohm: float, tolerance: float, more: float
) -> None:
    parts = {"range_ohm": range_ohm, "pot_ohm": pot_ohm, "load_ohm": load_ohm}
    tight, loose = (solve(base, **parts, tolerance=t) for t in (tolerance, tolerance + more))
    assert loose.hottest_worst_v > tight.hottest_worst_v >= tight.hottest_v
    assert loose.coldest_worst_v < tight.coldest_worst_v <= tight.coldest_v
    assert tight.coldest_v < tight.mid_v < tight.hottest_v <= 0.0


@settings(derandomize=True, deadline=None, max_examples=40)
@given(base=st.sampled_from([DIVIDER, RHEOSTAT]), load_ohm=st.floats(20e3, 1e6), less=st.floats(0.3, 0.95))
def test_heavier_leaks_less_bias(base: dict[str, Any], load_ohm: float, less: float) -> None:
    light, heavy = solve(base, load_ohm=load_ohm), solve(base, load_ohm=load_ohm * less)
    assert heavy.hottest_v > light.hottest_v
    assert heavy.coldest_v > light.coldest_v


@pytest.mark.parametrize("base", [DIVIDER, RHEOSTAT])
def test_arrays_give_the_ends_and_the_middle(base: dict[str, Any]) -> None:
    bias = solve(base)
    volts = bias_volts(**base, travel=[0.0, 0.5, 1.0])
    assert volts == pytest.approx([bias.hottest_v, bias.mid_v, bias.coldest_v], rel=1e-9)


def test_ten_thousand_samples_stay_inside_the_worst_corners() -> None:
    rng = np.random.default_rng(3)

    def near(value: float) -> Any:
        return value * rng.uniform(0.9, 1.1, 10_000)

    volts = bias_volts(
        tap_vrms=near(50.0),
        mains_hz=50.0,
        series_ohm=near(470.0),
        reservoir_farad=near(50e-6),
        range_ohm=near(27e3),
        pot_ohm=near(15e3),
        load_ohm=near(110e3),
        layout="divider",
    )
    worst = solve(DIVIDER, tolerance=0.1, mains_tolerance=0.1)
    assert worst.coldest_worst_v < float(volts.min()) < float(volts.max()) < worst.hottest_worst_v


def test_a_seeded_simulation_stays_inside_the_worst_corners() -> None:
    parts = ("series_ohm", "range_ohm", "pot_ohm", "load_ohm")
    spread = simulate(
        bias_volts, nominal={**DIVIDER, "travel": 0.0}, tolerances=dict.fromkeys(parts, 0.1), samples=10_000, seed=5
    )["value"]
    bias = solve(DIVIDER, tolerance=0.1)
    assert spread.nominal == pytest.approx(bias.hottest_v)
    assert bias.hottest_worst_v > spread.p95 > spread.mean > spread.p05


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"tap_vrms": 0.0}, "tap_vrms"),
        ({"mains_hz": float("nan")}, "mains_hz"),
        ({"series_ohm": -1.0}, "series_ohm"),
        ({"reservoir_farad": 0.0}, "reservoir_farad"),
        ({"range_ohm": 0.0}, "range_ohm"),
        ({"pot_ohm": float("inf")}, "pot_ohm"),
        ({"load_ohm": 0.0}, "load_ohm"),
        ({"tolerance": -0.1}, "tolerance"),
        ({"tolerance": 0.51}, "tolerance"),
        ({"range_tolerance": 1.0}, "range_tolerance"),
        ({"mains_tolerance": 0.6}, "mains_tolerance"),
        ({"floor_ohm": -1.0}, "floor_ohm"),
        ({"floor_ohm": 100.0}, "floor_ohm"),
        ({"layout": "lamp"}, "layout"),
    ],
)
def test_refuses_by_name(changed: dict[str, Any], named: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        solve(DIVIDER, **changed)
    assert refused.value.argument == named


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"travel": 1.1}, "travel"),
        ({"travel": [-0.1, 0.5]}, "travel"),
        ({"pot_ohm": [1e3, 0.0]}, "pot_ohm"),
        ({"floor_ohm": -1.0}, "floor_ohm"),
        ({"layout": "lamp"}, "layout"),
    ],
)
def test_arrays_refuse_by_name(changed: dict[str, Any], named: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        bias_volts(**{**RHEOSTAT, **changed})
    assert refused.value.argument == named
