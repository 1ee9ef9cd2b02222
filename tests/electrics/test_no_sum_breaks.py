"""Every public sum takes 200 random and edge inputs: a result without NaN or infinity, or the package's own refusal.

The draws are seeded: a usual call with one to three of its arguments replaced by an edge, or every number multiplied
by a random factor. A sum that is added to the package without a usual call here fails the first test.
"""

from __future__ import annotations

import dataclasses
import inspect
import math
import random
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from app import electrics
from app.electrics import LC, RC, ElectricsError, Sourced
from app.electrics.hazards import EnergyThreshold

COUNT = 200
EDGES: tuple[Any, ...] = (
    0, 0.0, -0.0, -1.0, 1.0, 5e-324, 1e-300, 1e-12, 1e12, 1e300, 1.7e308, -1e300, math.inf, -math.inf, math.nan, 10**400, 2, 3, -7,
    None, True, False, "", " ", "0", "12AX7", "EL34", "GZ34", "4k7", "ΩΩ", "x" * 300, "\x00", b"x", [], (), {}, [0.0], [1.0, -1.0],
    (math.nan,), [None], ["red"], object(), complex(1, 1), np.float64(2.0), np.int64(3), np.array(1.0), np.array([1.0, 2.0]),
    np.array([]), np.nan, np.bool_(True),
)  # fmt: skip

WINDING = {"secondary_vrms": 325.0, "rectifier": "full_wave_ct", "source_ohm": 100.0, "reservoir_farad": 47e-6, "mains_hz": 50.0}
SUPPLY = electrics.capacitor_input(**WINDING, load_a=0.1)  # type: ignore[arg-type]
STAGES = [RC(1e3, 47e-6, 0.02), LC(10.0, 100.0, 22e-6, 0.01)]
NETWORK = {"tap_vrms": 50.0, "mains_hz": 50.0, "series_ohm": 470.0, "reservoir_farad": 50e-6, "range_ohm": 27e3, "pot_ohm": 25e3,
           "load_ohm": 110e3, "layout": "divider"}  # fmt: skip
CHARGED = {"farads": [47e-6, 22e-6], "between_ohm": [1e3], "from_v": 450.0, "to_v": 10.0, "stick_ohm": 10e3, "at": 0,
           "stick_rated_w": 5.0}  # fmt: skip
PAIR = {"valve": "6L6GC", "supply_v": 450.0, "screen_v": 400.0, "bias_v": -37.0, "load_aa_ohm": 5600.0}
STAGE = {"valve": "12AX7", "supply_v": 300.0, "anode_ohm": 1e5, "cathode_ohm": 1500.0, "bypassed": True, "next_grid_ohm": 1e6}
KOREN = {"anode_v": 250.0, "grid_v": -2.0, "mu": 100.0, "ex": 1.4, "kg1": 1060.0, "kp": 600.0, "kvb": 300.0}
CIRCUIT = electrics.Circuit().volts("B", "hv", "0", 300.0).resistor("RA", "hv", "a", 1e5).resistor("RK", "k", "0", 1500.0)
CIRCUIT.resistor("RG", "g", "0", 1e6).triode("V1", "a", "g", "k", "12AX7")
WORN = {"nominal_farad": 47e-6, "farad": 40e-6, "loss_limit": 0.15, "loss": 0.1, "leakage_limit_a": 1e-3, "leakage_a": 1e-4,
        "after": "endurance"}  # fmt: skip

USUAL: dict[str, dict[str, Any]] = {
    "anode_current_by_resistance": {"drop_v": 5.0, "winding_ohm": 120.0},
    "arc_risk_pins": {"valve": "EL34"},
    "awg_mm2": {"awg": 18.0},
    "awg_ohm": {"awg": 18.0, "metre": 2.0, "celsius": 20.0},
    "bias_network": {**NETWORK, "tolerance": 0.05, "range_tolerance": 0.1, "mains_tolerance": 0.1, "floor_ohm": 0.0},
    "bias_volts": {**NETWORK, "travel": 0.5, "floor_ohm": 0.0},
    "board_leakage": {"source_v": 400.0, "meter_v": 1.0, "meter_ohm": 10e6},
    "bond_drop": {"ohm": 0.1, "ampere": 10.0},
    "bond_limit": {"profile": "vde_0701_0702", "lead_metre": 3.0, "mm2": 1.0},
    "bond_profile": {"name": "vde_0701_0702"},
    "capacitor_input": {**WINDING, "load_ohm": 3e3, "load_a": 0.01, "drop": "GZ34"},
    "cathode_bias": {"valve": "EL84", "supply_v": 310.0, "screen_v": 310.0, "cathode_ohm": 130.0, "valves": 2, "winding_ohm": 99.0},
    "cathode_bias_range": {"valve": "EL84", "supply_v": 310.0, "screen_v": 310.0, "cathode_ohm": 130.0, "valves": 2,
                           "winding_ohm": 99.0, "spread": 0.3, "mains": 0.1},
    "chain_left": {**{name: value for name, value in CHARGED.items() if name not in ("to_v", "stick_rated_w")}, "seconds": 5.0},
    "cold_start": {**WINDING, "stages": [LC(1.0, 200.0, 22e-6, 0.0)], "load_ohm": None, "drop": "GZ34"},
    "colour_code": {"bands": ["yellow", "violet", "red", "gold"], "edition": 2005},
    "colours": {"ohm": 4700.0, "tolerance": 0.05, "bands": 4, "tempco_ppm": None, "edition": 2005},
    "composite_line": {**PAIR, "points": 11},
    "conductor_ohm": {"mm2": 1.0, "metre": 3.0, "celsius": 20.0, "conductor_class": 5, "tinned": False},
    "coupling_leak": {"anode_v": 180.0, "leak_ohm": 1e8, "grid_leak_ohm": 220e3, "allowed_v": 2.0},
    "current_hazard": {"kind": "dc", "volt": 450.0, "ampere": 0.05},
    "damping_factor": {"open_v": 10.0, "loaded_v": 8.0, "load_ohm": 8.0},
    "derated_watt": {"rated_watt": 2.0, "ambient_c": 25.0, "derate_from_c": 70.0, "zero_at_c": 155.0},
    "discharge": {"from_v": 450.0, "ohm": 1e4, "farad": 1e-4},
    "discharge_chain": CHARGED,
    "discharge_time": {"from_v": 450.0, "to_v": 60.0, "ohm": 1e4, "farad": 1e-4},
    "drift": {"nominal": 1e5, "measured": 1.2e5},
    "earth_leakage_limit": {"profile": "VDE 0701-0702:2008", "protection": "I"},
    "emitting": {"valve": "EL34", "factor": 1.3},
    "energy_hazard": {"farad": 1e-4, "volt": 450.0},
    "equivalent_ohm": {"volt": 230.0, "ampere": 5e-4},
    "esr": {"tan_delta": 0.15, "farad": 47e-6, "hertz": 100.0},
    "expected": {"circuit": CIRCUIT, "tolerances": {"resistor": 0.1, "triode": 0.3}, "samples": 40, "seed": 1},
    "expected_band": {"nominal": 100.0, "tolerances": [0.05, (0.1, 0.5)]},
    "filter_chain": {"supply": SUPPLY, "stages": STAGES, "added": True},
    "fit_error": {"valve": "EL34"},
    "fixed_bias_range": {"valve": "EL34", "anode_v": 450.0, "screen_v": 400.0, "grid_v": -37.0, "spread": 0.3, "mains": 0.1},
    "flyback": {"supply_v": 450.0, "swing_v": 900.0, "diodes": 2, "diode_piv_v": 1000.0},
    "grid_leak_limit": {"valve": "EL34", "ohm": 220e3, "fixed_bias": True, "sharing": 2, "allowed_ohm": 5e5},
    "heat_factor": {"valve": "EL34", "factor": 1.1},
    "heater_balance": {"heater_v": 6.3, "ohm_each": 100.0},
    "heater_load": {"valves": [("EL34", 2), ("12AX7", 3)], "winding_v": 6.3, "winding_a": 5.0, "more_a": 0.3},
    "heater_voltage": {"nominal_v": 6.3, "measured_mains_v": 240.0, "tap_v": 220.0},
    "holding_volt": {"joule": 1.0, "farad": 1e-4},
    "idle_grid": {"valve": "6L6GC", "anode_v": 450.0, "screen_v": 400.0, "share": 0.7},
    "idle_limits": {"valve": "EL34", "nominal_w": 17.0, "mains_w": 21.0, "hottest_w": 27.0, "anode_v": 450.0, "screen_w": 2.0,
                    "cathode_a": 0.05, "spread": 0.3, "mains": 0.1},
    "idle_point": {"valve": "6L6GC", "anode_v": 450.0, "cathode_a": 0.04, "screen_a": None, "screen_share": 0.05, "cathode_v": 0.0,
                   "screen_v": 400.0},
    "idle_target": {"valve": "6L6GC", "anode_v": 450.0, "share": 0.7},
    "insulation_limit": {"profile": "VDE 0701-0702:2008", "protection": "I"},
    "judge": {"value": 0.1, "lower": 0.0, "upper": 0.3, "uncertainty": 0.02, "rule": "guarded"},
    "koren_pentode": {**KOREN, "screen_v": 250.0},
    "koren_triode": {**KOREN, "vct": 0.5},
    "leakage_limit": {"farad": 47e-6, "rated_v": 450.0, "grade": "low"},
    "loaded_reading": {"true_v": 150.0, "source_ohm": 1e5, "meter_ohm": 1e7},
    "loading_error": {"source_ohm": 1e5, "meter_ohm": 1e7},
    "mains_factor": {"measured_v": 240.0, "tap_v": 220.0},
    "marking": {"text": "473K 630V"},
    "mean_volts": {**WINDING, "load_ohm": 3e3, "load_a": 0.01, "drop": "GZ34"},
    "melting_time": {"multiple": 2.1},
    "meter_input_ohm": {"true_v": 10.0, "reading_v": 5.0, "source_ohm": 1e6},
    "meter_uncertainty": {"reading": 400.0, "percent": 0.5, "counts": 3, "resolution": 0.1},
    "mismatch": {"nominal_ohm": 8.0, "load_ohm": 4.0},
    "nearest": {"ohm": 1234.0, "series": "E12"},
    "one_sided_guard": {"uncertainty": 0.02},
    "output_ohm": {"open_v": 10.0, "loaded_v": 8.0, "load_ohm": 8.0},
    "output_power": {"volt_rms": 20.0, "load_ohm": 8.0},
    "parse": {"text": "4k7", "unit": "ohm"},
    "propose": {"circuit": CIRCUIT, "readings": {"a": 120.0, "k": 1.0}, "faults": ["open", ("V1", "weak")],
                "tolerances": {"resistor": 0.1, "triode": 0.3}, "uncertainty": 0.01},
    "propose_pairs": {"circuit": CIRCUIT, "readings": {"a": 120.0, "k": 3.0}, "faults": ["open", "drifted", ("V1", "weak")],
                      "tolerances": {"resistor": 0.1, "triode": 0.3}, "uncertainty": 0.01, "fits": 2.5},
    "pentode_currents": {"valve": "EL34", "anode_v": 250.0, "screen_v": 250.0, "grid_v": -12.0},
    "power_rating_ok": {"watt": 1.0, "rated_watt": 2.0, "ambient_c": 25.0, "derate_from_c": 70.0, "zero_at_c": 155.0, "margin": 2},
    "preferred_fuse": {"va": 100.0, "mains_v": 230.0, "inrush": True, "region": "UL"},
    "product_uncertainty": {"factors": [(420.0, 2.0), (0.04, 0.001)]},
    "profile_id": {"name": "VDE 0701-0702:2008"},
    "push_pull": PAIR,
    "push_pull_fed": {**PAIR, "bias_v": None, "cathode_ohm": 130.0, "screen_ohm": 470.0, "supply_ohm": 100.0},
    "rectifier_limits": {"rectifier_valve": "GZ34", "supply": SUPPLY, "source_ohm": 100.0, "reservoir_farad": 47e-6},
    "reflected_load": {"turns_ratio": 26.0, "load_ohm": 8.0},
    "reform_leakage": {"resistor_v": 10.0, "series_ohm": 3e4},
    "reform_steps": {"rated_v": 450.0, "limit_a": 0.005, "stored_months": 12.0, "farad": 47e-6, "grade": "general", "can_w": 1.0},
    "reservoir_under": {"supply": SUPPLY, "stages": STAGES, "added": True},
    "resistor_marking": {"text": "4K7"},
    "response": {"circuit": CIRCUIT, "source": "B", "output": "a", "hz": [100.0, 1e3]},
    "series": {"name": "E24"},
    "sheet_screen_share": {"valve": "EL34", "anode_v": 400.0, "cathode_a": 0.04},
    "show": {"value": 4700.0, "unit": "ohm", "digits": 3},
    "simulate": {"solver": lambda a, b: a * b, "nominal": {"a": 1.0, "b": 2.0}, "tolerances": {"a": 0.1}, "samples": 20, "seed": 1,
                 "distribution": "uniform", "arrays": True},
    "solve": {"circuit": CIRCUIT},
    "speaker_load": {"ohms": [8.0, 8.0], "wiring": "parallel", "nominal_ohm": 8.0, "power_w": 50.0, "rated_w": 30.0},
    "stage_gain": {"mu": 100.0, "rp_ohm": 62e3, "load_ohm": 1e5, "cathode_ohm": 1500.0},
    "stored_charge": {"farad": 1e-4, "volt": 450.0},
    "stored_energy": {"farad": 1e-4, "volt": 450.0},
    "tan_delta": {"esr_ohm": 5.0, "farad": 47e-6, "hertz": 100.0},
    "temperature_factor": {"celsius": 40.0},
    "touch_current_limit": {"profile": "VDE 0701-0702:2008", "protection": "II"},
    "transformer_load": {"supply": SUPPLY, "secondary_vrms": 325.0, "rectifier": "full_wave_ct", "heater_va": 30.0,
                         "mains_v": 230.0, "efficiency": 0.9, "rated_va": 200.0},
    "triode_current": {"valve": "12AX7", "anode_v": 250.0, "grid_v": -2.0},
    "triode_stage": STAGE,
    "triode_stage_samples": {**STAGE, "emission": 1.0},
    "turns_ratio": {"primary_v": 10.0, "secondary_v": 0.4},
    "unloaded": {"reading_v": 136.0, "source_ohm": 1e5, "meter_ohm": 1e7},
    "usual_share": {"valve": "EL34"},
    "valve": {"name": "ECC83"},
    "valve_names": {},
    "vintage_leakage_limit": {"farad": 20e-6, "rated_v": 450.0},
    "voltage_code": {"text": "2A"},
    "voltage_limit": {"ohm": 1e6, "rated_watt": 0.5, "element_v": 350.0},
    "worn": WORN,
}  # fmt: skip
# What a person may well type: every one of these breaks a sum that divides by it or takes its logarithm.
HEAVY = {"cold_start": 0.15}  # share of draws whose numbers are all scaled: each of those is a whole run


def public() -> set[str]:
    return {name for name in electrics.__all__ if inspect.isfunction(getattr(electrics, name))}


def test_every_public_sum_has_a_usual_call_here() -> None:
    assert public() == set(USUAL)
    for name, usual in USUAL.items():
        assert set(usual) == set(inspect.signature(getattr(electrics, name)).parameters), name


def scaled(value: Any, rng: random.Random) -> Any:
    if isinstance(value, float):
        return value * 10.0 ** rng.uniform(-3.0, 3.0) if rng.random() < 0.8 else -value
    if isinstance(value, list) and value and isinstance(value[0], float):
        return [scaled(one, rng) for one in value]
    return value


def draws(name: str) -> Iterator[dict[str, Any]]:
    rng = random.Random(name)
    usual = USUAL[name]
    yield dict(usual)
    for edge in EDGES:  # every edge in the first argument at least once
        yield usual | {next(iter(usual), ""): edge} if usual else {}
    for _ in range(COUNT - len(EDGES) - 1):
        changed = dict(usual)
        if rng.random() < HEAVY.get(name, 0.4):
            changed = {key: scaled(value, rng) for key, value in usual.items()}
        for key in rng.sample(sorted(usual), min(len(usual), rng.randint(1, 3))) if usual else []:
            if rng.random() < 0.7:
                changed[key] = rng.choice(EDGES)
        yield changed


def bad_figures(result: Any) -> bool:
    """Whether a result has a NaN or an infinity in it anywhere."""
    if isinstance(result, (bool, str, Sourced, EnergyThreshold)) or result is None:  # a threshold may have no upper end
        return False
    if isinstance(result, (int, float)):
        return not math.isfinite(result)
    if isinstance(result, np.ndarray):
        return result.dtype.kind == "f" and not bool(np.isfinite(result).all())
    if isinstance(result, dict):
        return any(bad_figures(one) for one in result.values())
    if isinstance(result, (tuple, list)):
        return any(bad_figures(one) for one in result)
    if dataclasses.is_dataclass(result):
        return any(bad_figures(getattr(result, field.name)) for field in dataclasses.fields(result))
    return False


@pytest.mark.parametrize("name", sorted(USUAL))
def test_no_input_breaks_a_sum(name: str) -> None:
    sum_: Callable[..., Any] = getattr(electrics, name)
    parameters = inspect.signature(sum_).parameters.items()
    positional = [key for key, value in parameters if value.kind is not inspect.Parameter.KEYWORD_ONLY]
    refused = 0
    for given in draws(name):
        try:
            result = sum_(*(given[key] for key in positional), **{key: given[key] for key in given if key not in positional})
        except ElectricsError as refusal:
            refused += 1
            assert " must be " in str(refusal) or isinstance(refusal, electrics.NotationError), (given, refusal)
        except Exception as broken:  # the input is what has to be known
            pytest.fail(f"{name} broke with {type(broken).__name__}: {broken}\n{given}")
        else:
            assert not bad_figures(result), (given, result)
    assert refused < COUNT, "even the usual call was refused"
