"""Heaters on a winding, a supply on its transformer, leaks on a grid, loudspeakers on a tap: each against its limit."""

from __future__ import annotations

import math
from typing import Any

import pytest

from app.electrics import (
    ElectricsError,
    capacitor_input,
    coupling_leak,
    grid_leak_limit,
    heater_load,
    mismatch,
    speaker_load,
    transformer_load,
)
from app.electrics.valves.grid_leaks import GRID_LEAKS

SUPPLY: dict[str, Any] = {"secondary_vrms": 325.0, "source_ohm": 100.0, "reservoir_farad": 47e-6, "mains_hz": 50.0, "load_a": 0.13}


def test_heaters_add_up_as_the_sheets_print_them() -> None:
    """2 x EL34 at 1.5 A (EH sheet, seen), 3 x 12AX7 at 0.3 A on 6.3 V (Wikipedia box, seen): 3.9 A."""
    found = heater_load(valves=[("EL34", 2), ("ECC83", 3)], winding_v=6.3, winding_a=4.0)
    assert found.ampere == pytest.approx(3.9) and found.watt == pytest.approx(3.9 * 6.3)
    assert found.seen and found.limits[0].verdict == "near"


def test_a_hotter_type_is_above_the_winding_that_bore_the_old_one() -> None:
    """Four 6L6GC (0.9 A) on a winding for 4 A, and four KT88 (1.6 A) in their place: a common cause of burnt transformers."""
    cool, hot = (heater_load(valves=[(name, 4)], winding_v=6.3, winding_a=4.0) for name in ("6L6GC", "KT88"))
    assert [cool.limits[0].verdict, hot.limits[0].verdict] == ["within", "above"]


def test_currents_from_memory_are_never_alone_behind_a_green_word() -> None:
    found = heater_load(valves=[("6AQ5", 2)], winding_v=6.3, winding_a=5.0)
    assert not found.seen and found.limits[0].unconfirmed


@pytest.mark.parametrize(("volts", "ampere"), [(6.3, 0.3), (12.6, 0.15)])
def test_a_twin_heater_is_taken_as_it_is_connected(volts: float, ampere: float) -> None:
    assert heater_load(valves=[("12AX7", 1)], winding_v=volts).ampere == pytest.approx(ampere)


def test_a_valve_without_a_heater_for_the_winding_is_refused() -> None:
    with pytest.raises(ElectricsError, match="5 V"):
        heater_load(valves=[("EL34", 2)], winding_v=5.0)
    assert heater_load(valves=[("GZ34", 1)], winding_v=5.0).ampere == pytest.approx(1.9)


def test_a_windings_va_are_volts_times_rms_current() -> None:
    """Definition: each leg of a centre-tapped winding carries one diode's rms current, a bridge's winding the root of 2 of it."""
    supply = capacitor_input(rectifier="full_wave_ct", **SUPPLY)
    bare = {"secondary_vrms": 325.0, "heater_va": 0.0, "mains_v": 230.0, "efficiency": 1.0}
    found = transformer_load(supply=supply, rectifier="full_wave_ct", **bare)
    assert found.ht_va == pytest.approx(2 * 325 * supply.rms_diode_a)
    assert found.primary_va == pytest.approx(found.ht_va / math.sqrt(2.0))
    bridge = transformer_load(supply=capacitor_input(rectifier="bridge", **SUPPLY), rectifier="bridge", **bare)
    assert bridge.ht_va == pytest.approx(bridge.primary_va)


def test_primary_power_is_at_least_what_the_supply_delivers() -> None:
    """Energy: what the load takes and the charging path turns to heat has to come in; VA lie above watts with short pulses."""
    supply = capacitor_input(rectifier="full_wave_ct", **SUPPLY)
    found = transformer_load(supply=supply, secondary_vrms=325.0, rectifier="full_wave_ct", heater_va=30.0, mains_v=230.0)
    watts = supply.mean_v * 0.13 + 2 * supply.rms_diode_a**2 * 100.0 + 30.0
    assert found.primary_va > watts
    assert found.primary_a == pytest.approx(found.primary_va / 230.0)


def test_the_rated_va_decide() -> None:
    supply = capacitor_input(rectifier="full_wave_ct", **SUPPLY)
    verdicts = [transformer_load(supply=supply, secondary_vrms=325.0, rectifier="full_wave_ct", heater_va=30.0, mains_v=230.0,
                                 rated_va=rated).limits[0].verdict for rated in (100.0, 400.0)]
    assert verdicts == ["above", "within"]


def test_a_leaking_coupling_capacitor_divides_the_anode_volts() -> None:
    """Voltage divider: 180 V through 100 Mohm into 220 kohm lifts by 0.395 V."""
    found = coupling_leak(anode_v=180.0, leak_ohm=100e6, grid_leak_ohm=220e3, allowed_v=2.0)
    assert found.lift_v == pytest.approx(180 * 0.22 / 100.22) and found.leak_a == pytest.approx(180 / 100.22e6)
    assert found.limits[0].verdict == "within" and found.limits[0].unconfirmed
    assert coupling_leak(anode_v=180.0, leak_ohm=1e6, grid_leak_ohm=220e3, allowed_v=2.0).limits[0].verdict == "above"


def test_a_grid_circuit_is_held_against_the_sheet_by_its_bias() -> None:
    """EH EL34 sheet, seen: 0.5 Mohm with fixed bias, 0.7 Mohm with a cathode resistor."""
    fixed, own = (grid_leak_limit(valve="EL34", ohm=600e3, fixed_bias=fixed) for fixed in (True, False))
    assert (fixed.allowed, fixed.verdict) == (500e3, "above") and (own.allowed, own.verdict) == (700e3, "within")
    assert grid_leak_limit(valve="EL34", ohm=300e3, fixed_bias=True, sharing=2).verdict == "above"


def test_where_no_limit_is_known_none_is_judged() -> None:
    with pytest.raises(ElectricsError, match="no limit is known here"):
        grid_leak_limit(valve="KT90", ohm=100e3, fixed_bias=True)
    assert grid_leak_limit(valve="KT90", ohm=100e3, fixed_bias=True, allowed_ohm=50e3).verdict == "above"


@pytest.mark.parametrize("name", GRID_LEAKS)
def test_fixed_bias_is_allowed_less_than_a_cathode_resistor(name: str) -> None:
    assert GRID_LEAKS[name].fixed_ohm < GRID_LEAKS[name].self_ohm and GRID_LEAKS[name].source.text


@pytest.mark.parametrize(("ohms", "wiring", "together"), [
    ([8.0, 8.0], "parallel", 4.0), ([8.0, 16.0], "parallel", 5.333), ([16.0] * 4, "parallel", 4.0), ([8.0, 8.0], "series", 16.0),
])
def test_loudspeakers_together(ohms: list[float], wiring: str, together: float) -> None:
    """Ohm's law; the parallel rows are worked examples of the trade."""
    assert speaker_load(ohms=ohms, wiring=wiring, nominal_ohm=8.0).load_ohm == pytest.approx(together, abs=5e-4)


@pytest.mark.parametrize(("wiring", "each"), [("parallel", (33.33, 16.67)), ("series", (16.67, 33.33))])
def test_unlike_loudspeakers_share_the_power_unlike(wiring: str, each: tuple[float, float]) -> None:
    found = speaker_load(ohms=[8.0, 16.0], wiring=wiring, nominal_ohm=8.0, power_w=50.0, rated_w=30.0)
    assert found.each_w == pytest.approx(each, abs=0.01) and sum(found.each_w) == pytest.approx(50.0)
    assert found.limits[1].verdict == "above"


@pytest.mark.parametrize(("nominal", "verdict"), [(8.0, "within"), (4.0, "near"), (3.9, "above"), (16.0, "near"), (16.5, "above")])
def test_a_mismatch_beyond_two_to_one_is_above_and_agrees_with_mismatch(nominal: float, verdict: str) -> None:
    found = speaker_load(ohms=[8.0], wiring="series", nominal_ohm=nominal)
    assert found.limits[0].verdict == verdict and found.found == mismatch(nominal_ohm=nominal, load_ohm=8.0)
