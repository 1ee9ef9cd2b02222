"""The reservoir's steady state: what must hold of any solution, and what is refused."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import ElectricsError, Supply, capacitor_input

FULL = {
    "secondary_vrms": 325.0,
    "rectifier": "full_wave_ct",
    "source_ohm": 100.0,
    "reservoir_farad": 47e-6,
    "mains_hz": 50.0,
}


def solve(**changed: Any) -> Supply:
    return capacitor_input(**{**FULL, **changed})


parts = st.fixed_dictionaries(
    {
        "secondary_vrms": st.floats(15.0, 500.0),
        "rectifier": st.sampled_from(["full_wave_ct", "bridge", "half_wave"]),
        "source_ohm": st.floats(5.0, 500.0),
        "reservoir_farad": st.floats(8e-6, 220e-6),
        "mains_hz": st.sampled_from([50.0, 60.0]),
        "drop": st.sampled_from([None, "GZ34", "5Y3GT", "ideal"]),
    }
)
steady = settings(derandomize=True, deadline=None, max_examples=60)


@steady
@given(kw=parts, load_ohm=st.floats(500.0, 200e3))
def test_charge_in_is_charge_out(kw: dict[str, Any], load_ohm: float) -> None:
    supply = capacitor_input(**kw, load_ohm=load_ohm)
    assert supply.wave is not None
    assert supply.wave.mean(supply.wave.current_a) == pytest.approx(supply.mean_load_a, rel=1e-6)
    assert supply.mean_load_a == pytest.approx(supply.mean_v / load_ohm)
    assert supply.wave.state[0, 0] == pytest.approx(supply.wave.state[-1, 0], rel=1e-9)


@steady
@given(kw=parts, load_ohm=st.floats(500.0, 100e3), more=st.floats(1.05, 3.0))
def test_more_load_less_volts(kw: dict[str, Any], load_ohm: float, more: float) -> None:
    light = capacitor_input(**kw, load_ohm=load_ohm * more)
    heavy = capacitor_input(**kw, load_ohm=load_ohm)
    assert 0.0 < heavy.mean_v < light.mean_v < light.no_load_v
    assert heavy.peak_diode_a > light.peak_diode_a


@steady
@given(kw=parts, load_ohm=st.floats(500.0, 100e3))
def test_a_constant_current_of_a_large_reservoir_is_a_resistance(kw: dict[str, Any], load_ohm: float) -> None:
    kw["reservoir_farad"] = 0.02
    by_ohm = capacitor_input(**kw, load_ohm=load_ohm)
    by_current = capacitor_input(**kw, load_a=by_ohm.mean_load_a)
    assert by_current.mean_v == pytest.approx(by_ohm.mean_v, rel=2e-4)


def test_volts_scale_with_the_winding_for_an_ideal_rectifier() -> None:
    once, twice = solve(load_ohm=3e3, drop="ideal"), solve(load_ohm=3e3, drop="ideal", secondary_vrms=650.0)
    assert twice.mean_v == pytest.approx(2.0 * once.mean_v)
    assert twice.ripple_vpp == pytest.approx(2.0 * once.ripple_vpp)
    assert twice.peak_diode_a == pytest.approx(2.0 * once.peak_diode_a)


def test_a_bridge_of_ideal_rectifiers_is_a_centre_tapped_pair() -> None:
    pair, bridge = (solve(load_ohm=3e3, drop="ideal", rectifier=kind) for kind in ("full_wave_ct", "bridge"))
    assert bridge.mean_v == pytest.approx(pair.mean_v)
    assert bridge.rms_diode_a == pytest.approx(pair.rms_diode_a)
    assert pair.winding_rms_a == pytest.approx(pair.rms_diode_a)
    assert bridge.winding_rms_a == pytest.approx(math.sqrt(2.0) * bridge.rms_diode_a)


def test_a_silicon_bridge_has_two_drops() -> None:
    one = solve(load_ohm=3e3)
    two = solve(load_ohm=3e3, rectifier="bridge")
    assert 0.5 < one.mean_v - two.mean_v < 1.0


def test_reverse_volts_are_twice_the_peak_except_in_a_bridge() -> None:
    peak = 325.0 * math.sqrt(2.0)
    for kind, times in (("full_wave_ct", 2.0), ("half_wave", 2.0), ("bridge", 1.0)):
        supply = solve(load_ohm=3e3, rectifier=kind)
        assert supply.diode_piv_v == pytest.approx(times * peak)
        assert supply.no_load_v == pytest.approx(peak)


def test_ripple_frequency() -> None:
    assert solve(load_ohm=3e3).ripple_hz == 100.0
    assert solve(load_ohm=3e3, rectifier="bridge", mains_hz=60.0).ripple_hz == 120.0
    assert solve(load_ohm=3e3, rectifier="half_wave").ripple_hz == 50.0


def test_half_wave_diode_carries_every_pulse() -> None:
    supply = solve(load_ohm=3e3, rectifier="half_wave")
    assert supply.wave is not None
    rms = math.sqrt(supply.wave.mean(supply.wave.current_a**2))
    assert supply.rms_diode_a == pytest.approx(rms)
    assert supply.winding_rms_a == pytest.approx(rms)
    assert supply.peak_diode_a == pytest.approx(float(np.max(supply.wave.current_a)))


@pytest.mark.parametrize("drop", ["GZ34", "ideal"])
def test_no_load_is_the_peak_without_ripple(drop: str) -> None:
    supply = solve(load_a=0.0, drop=drop)
    assert supply.mean_v == pytest.approx(supply.no_load_v)
    assert supply.ripple_vpp == 0.0
    assert supply.peak_diode_a == 0.0
    assert supply.mean_load_a == 0.0


def test_no_load_through_silicon_stops_just_short_of_the_peak() -> None:
    """Forward charge balances leakage at v = peak - n*Vt*ln(sqrt(2*pi*peak/(n*Vt))) for the junction law."""
    supply = solve(load_a=0.0, rectifier="half_wave")
    scale = 1.984 * 0.0258649
    short = 0.5 * scale * math.log(2.0 * math.pi * supply.no_load_v / scale)
    assert supply.no_load_v - supply.mean_v == pytest.approx(short, abs=0.005)
    assert supply.ripple_vpp < 1e-4


@pytest.mark.parametrize("drop", [None, "GZ34", "ideal"])
def test_nearly_no_load_lies_between_no_load_and_a_light_one(drop: str | None) -> None:
    volts = [solve(load_a=amps, drop=drop).mean_v for amps in (0.0, 1e-9, 1e-6, 1e-4, 1e-3)]
    assert volts == sorted(volts, reverse=True)
    assert volts[0] - volts[2] < 0.001 * volts[0]


def test_both_loads_stand_side_by_side() -> None:
    bleeder = solve(load_ohm=220e3, load_a=0.1)
    assert bleeder.mean_load_a == pytest.approx(0.1 + bleeder.mean_v / 220e3)
    assert bleeder.mean_v < solve(load_a=0.1).mean_v


@pytest.mark.parametrize(
    ("name", "same"),
    [("5AR4", "GZ34"), ("gz34", "GZ 34"), ("5V4-GA", "GZ32"), ("5Y3", "U50"), ("5U4G", "5Z3"), ("5U4", "5U4GB")],
)
def test_second_names_find_the_same_rectifier(name: str, same: str) -> None:
    assert solve(load_ohm=4e3, drop=name).mean_v == solve(load_ohm=4e3, drop=same).mean_v


def test_silicon_by_name_is_the_default() -> None:
    assert solve(load_ohm=4e3, drop="1N4007").mean_v == solve(load_ohm=4e3).mean_v


def test_valve_rectifiers_in_order_of_their_drop() -> None:
    """Published: 17 V at 225 mA (5AR4), then 25 V at 175 mA, 50 V at 275, 58 V at 225, 50 V at 125."""
    names = (None, "5AR4", "5V4GA", "5U4GB", "5U4G", "5Y3GT")
    volts = [solve(load_a=0.1, drop=name).mean_v for name in names]
    assert volts == sorted(volts, reverse=True)
    assert len(set(volts)) == len(volts)


def test_a_current_that_empties_the_reservoir_is_refused_in_words() -> None:
    with pytest.raises(ElectricsError, match="load_a is 3.5.*run empty in every cycle"):
        solve(load_a=3.5)


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"load_ohm": -1.0}, "load_ohm"),
        ({"load_ohm": 0.0}, "load_ohm"),
        ({}, "load_ohm"),
        ({"load_a": -0.1}, "load_a"),
        ({"load_a": math.nan}, "load_a"),
        ({"load_ohm": 1e3, "source_ohm": 0.0}, "source_ohm"),
        ({"load_ohm": 1e3, "source_ohm": math.inf}, "source_ohm"),
        ({"load_ohm": 1e3, "reservoir_farad": 0.0}, "reservoir_farad"),
        ({"load_ohm": 1e3, "secondary_vrms": -6.3}, "secondary_vrms"),
        ({"load_ohm": 1e3, "mains_hz": 0.0}, "mains_hz"),
        ({"load_ohm": 1e3, "rectifier": "voltage_doubler"}, "rectifier"),
        ({"load_ohm": 1e3, "drop": "12AX7"}, "drop"),
        ({"load_ohm": 1e3, "drop": 0.7}, "drop"),
    ],
)
def test_refuses_by_name(changed: dict[str, Any], named: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        solve(**changed)
    assert refused.value.argument == named
    assert "must be" in str(refused.value)
