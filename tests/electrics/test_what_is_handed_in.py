"""Bad input of any kind is refused in words; numpy's numbers do as well as Python's (the computing contract)."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.electrics import (
    LC,
    RC,
    ElectricsError,
    bias_network,
    capacitor_input,
    colour_code,
    colours,
    conductor_ohm,
    expected_band,
    filter_chain,
    flyback,
    heater_balance,
    heater_voltage,
    nearest,
    output_power,
    parse,
    preferred_fuse,
    push_pull,
    reflected_load,
    series,
    show,
    simulate,
    stored_energy,
    triode_current,
    triode_stage,
    triode_stage_samples,
    valve,
)

SUPPLY = {"secondary_vrms": 325, "rectifier": "bridge", "source_ohm": 100, "mains_hz": 50, "load_ohm": 3000}
BIAS = {"tap_vrms": 50, "mains_hz": 50, "series_ohm": 470, "pot_ohm": 1e4, "load_ohm": 1e5, "layout": "pot_to_ground"}
MADE = capacitor_input(**SUPPLY, reservoir_farad=47e-6)  # type: ignore[arg-type]
WEAK = {**SUPPLY, "rectifier": "half_wave", "reservoir_farad": 47e-6}
STAGE = {"valve": "12AX7", "supply_v": 300, "anode_ohm": 1e5, "cathode_ohm": 1500}
BOTH = np.array([True, False])
PAIR = {"valve": "6L6GC", "supply_v": 450, "screen_v": 400, "bias_v": -37, "load_aa_ohm": 5600}

REFUSED: list[tuple[str, Callable[[Any], object], object]] = [
    ("bands", colour_code, 5),
    ("bands", colour_code, None),
    ("name", series, ["E24"]),
    ("series", lambda v: nearest(1000, series=v), ["E24"]),
    ("tolerances", lambda v: expected_band(100, tolerances=v), 0.1),
    ("tolerances", lambda v: expected_band(100, tolerances=v), None),
    ("measured_mains_v", lambda v: heater_voltage(nominal_v=6.3, measured_mains_v=v, tap_v=230), 0),
    ("supply", lambda v: filter_chain(v, [RC(1e3, 47e-6, 0.02)]), None),
    ("stages", lambda v: filter_chain(MADE, v), 5.0),
    ("ohm", lambda v: filter_chain(MADE, [RC(v, 47e-6, 0.02)]), 1e300),
    ("henry", lambda v: filter_chain(MADE, [LC(v, 100, 47e-6, 0.02)]), 1e-300),
    ("henry", lambda v: filter_chain(MADE, [LC(v, 100, 47e-6, 0.02)]), 1e6 + 0.5),
    ("reservoir_farad", lambda v: capacitor_input(**SUPPLY, reservoir_farad=v), 1e-300),  # type: ignore[arg-type]
    ("reservoir_farad", lambda v: bias_network(**BIAS, range_ohm=1e4, reservoir_farad=v), 1e300),  # type: ignore[arg-type]
    ("range_ohm", lambda v: bias_network(**BIAS, range_ohm=v, reservoir_farad=50e-6), 1e-300),  # type: ignore[arg-type]
    ("turns_ratio", lambda v: reflected_load(turns_ratio=v, load_ohm=8), 1e300),
    ("volt_rms", lambda v: output_power(volt_rms=v, load_ohm=8), 1e300),
    ("heater_v", lambda v: heater_balance(heater_v=v, ohm_each=100), 1e300),
    ("supply_v", lambda v: push_pull(**{**PAIR, "supply_v": v}), 1e-300),
    ("farad", lambda v: stored_energy(v, 450), 10**400),
    ("farad", lambda v: stored_energy(v, 450), np.bool_(True)),
    ("name", valve, "x"),
    ("name", valve, BOTH),
    ("name", valve, "12AX7/EL34"),
    ("valve", lambda v: triode_current(v, anode_v=100, grid_v=-1), "x"),
    ("load_ohm", lambda v: capacitor_input(**{**WEAK, "load_ohm": v}), 1e-6),
    ("load_ohm", lambda v: capacitor_input(**{**WEAK, "load_ohm": v}), 5e-324),
    ("load_ohm", lambda v: capacitor_input(**{**WEAK, "rectifier": "bridge", "load_ohm": v}), 1e-300),
    ("load_ohm", lambda v: capacitor_input(**{**WEAK, "load_ohm": v, "load_a": 0}), 1e-6),
    ("load_a", lambda v: capacitor_input(**{**WEAK, "load_ohm": None, "load_a": v}), 100),
    ("load_a", lambda v: capacitor_input(**{**WEAK, "rectifier": "bridge", "load_ohm": None, "load_a": v}), 1e300),
    ("load_a", lambda v: capacitor_input(**WEAK, load_a=v), 100),
    ("stages", lambda v: filter_chain(MADE, [RC(1e3, 47e-6, v)], added=True), 1e6),
    ("added", lambda v: filter_chain(MADE, [RC(1e3, 47e-6, 0.02)], added=v), BOTH),
    ("bypassed", lambda v: triode_stage(**STAGE, bypassed=v), BOTH),
    ("bypassed", lambda v: triode_stage_samples(**STAGE, bypassed=v), BOTH),
    ("bypassed", lambda v: triode_stage(**STAGE, bypassed=v), "yes"),
    ("inrush", lambda v: preferred_fuse(va=100, mains_v=230, inrush=v), BOTH),
    ("tinned", lambda v: conductor_ohm(mm2=1, metre=1, tinned=v), BOTH),
    ("conductor_class", lambda v: conductor_ohm(mm2=1, metre=1, conductor_class=v), np.array([5, 6])),
    ("arrays", lambda v: simulate(stored_energy, nominal={"farad": 1e-6, "volt": 9}, tolerances={}, arrays=v), BOTH),
    ("unit", lambda v: parse("4k7", unit=v), np.array(["V", "A"])),
    ("unit", lambda v: show(4700, v), np.array(["V", "A"])),
]


@pytest.mark.parametrize(("argument", "call", "value"), REFUSED)
def test_refused_by_name(argument: str, call: Callable[[Any], object], value: object) -> None:
    with pytest.raises(ElectricsError, match=argument) as refused:
        call(value)
    assert argument in re.findall(r"\w+", refused.value.argument)


def test_truth_values_of_numpy_are_truth_values() -> None:
    assert triode_stage(**STAGE, bypassed=np.bool_(False)) == triode_stage(**STAGE, bypassed=False)  # type: ignore[arg-type]
    assert preferred_fuse(va=100, mains_v=230, inrush=np.bool_(False)).marking.startswith("F")  # type: ignore[arg-type]


def test_both_bias_layouts_are_drawn_where_the_function_is_documented() -> None:
    drawn = bias_network.__doc__ or ""
    assert all(f'"{layout}":' in drawn for layout in ("divider", "pot_to_ground")) and drawn.count("ground ---") == 2


def test_whole_numbers_and_floats_of_numpy_are_numbers() -> None:
    assert show(np.int64(4700), "ohm", digits=np.int64(2)) == "4.7 kΩ"  # type: ignore[arg-type]
    assert stored_energy(np.float32(1e-4), np.int32(450)) == pytest.approx(10.125)  # type: ignore[arg-type]  # ½CV², in J
    assert colours(np.int64(4700), tolerance=np.float32(0.05)) == ("yellow", "violet", "red", "gold")  # type: ignore[arg-type]  # IEC 60062
    assert flyback(supply_v=450, diodes=np.int64(2), diode_piv_v=1000).per_diode_v == 450.0  # type: ignore[arg-type]
