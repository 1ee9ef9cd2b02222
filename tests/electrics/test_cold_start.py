"""Switch-on with cold valves: what has to hold whatever the parts, and what is refused. Against ngspice: tests/reference."""

from __future__ import annotations

import math
from typing import Any

import pytest

from app.electrics import LC, RC, ElectricsError, capacitor_input, cold_start, filter_chain
from app.electrics.supply.rectifiers import Ideal, Silicon, SpaceCharge

SUPPLY: dict[str, Any] = {
    "secondary_vrms": 325.0, "rectifier": "full_wave_ct", "source_ohm": 100.0, "reservoir_farad": 47e-6, "mains_hz": 50.0
}  # fmt: skip
CREST = 325.0 * math.sqrt(2.0)


def test_resistors_never_drive_a_capacitor_above_the_crest() -> None:
    found = cold_start(**SUPPLY, stages=[RC(1e3, 47e-6, 0.02), RC(220e3, 22e-6, 0.001)])
    assert found.highest_v == found.settled_v == pytest.approx((CREST,) * 3)


def test_a_choke_drives_the_capacitor_behind_it_above_the_crest_but_not_above_twice_it() -> None:
    """A step into a lossless choke and capacitor reaches twice the step (any textbook); losses keep it below."""
    found = cold_start(**{**SUPPLY, "source_ohm": 0.05, "reservoir_farad": 1e-3}, stages=[LC(10.0, 1.0, 20e-6, 0.0)])
    assert 1.9 * CREST < found.highest_v[1] < 2.0 * CREST
    assert found.highest_at_s == pytest.approx(math.pi * math.sqrt(10.0 * 20e-6), rel=0.2)  # half a ring, and the first crest


def test_with_nothing_drawn_the_charge_a_choke_pumped_in_stays_and_is_shared() -> None:
    found = cold_start(**SUPPLY, stages=[LC(10.0, 100.0, 22e-6, 0.0)])
    assert found.settled_v[0] == found.settled_v[1] > CREST
    assert found.settled_v[1] < found.highest_v[1]


def test_the_load_of_the_stages_is_not_drawn_while_the_valves_are_cold() -> None:
    drawn = cold_start(**SUPPLY, stages=[LC(10.0, 100.0, 22e-6, 0.06)])
    assert drawn == cold_start(**SUPPLY, stages=[LC(10.0, 100.0, 22e-6, 0.0)])


def test_with_a_bleeder_it_settles_where_the_steady_state_is() -> None:
    stages = [LC(10.0, 100.0, 47e-6, 0.0), RC(10e3, 22e-6, 0.0)]
    found = cold_start(**SUPPLY, stages=stages, load_ohm=10e3)
    steady = capacitor_input(**SUPPLY, load_ohm=10e3)
    nodes = filter_chain(steady, stages, added=True)
    assert found.settled_v[0] == pytest.approx(steady.mean_v, rel=1e-3)
    assert found.settled_v[1:] == pytest.approx(tuple(node.mean_v for node in nodes), rel=1e-6)
    assert all(high >= settled for high, settled in zip(found.highest_v, found.settled_v, strict=True))


def test_the_worst_inrush_is_the_crest_over_the_winding() -> None:
    found = cold_start(**SUPPLY, drop="ideal")
    assert found.inrush_worst_a == pytest.approx(CREST / 100.0)
    assert 0.0 < found.inrush_peak_a < found.inrush_worst_a


def test_reverse_volts_follow_the_circuit() -> None:
    """Full wave: the reservoir and the other crest; bridge: the reservoir alone (any handbook)."""
    stages = [LC(10.0, 100.0, 22e-6, 0.0)]
    full = cold_start(**SUPPLY, stages=stages)
    bridge = cold_start(**{**SUPPLY, "rectifier": "bridge"}, stages=stages)
    assert full.diode_piv_v == pytest.approx(full.highest_v[0] + CREST)
    assert bridge.diode_piv_v == pytest.approx(bridge.highest_v[0])


@pytest.mark.parametrize("law", [Silicon(1), Silicon(2), SpaceCharge(3.961806e-3, 1), SpaceCharge(0.352292e-3, 2), Ideal()])
@pytest.mark.parametrize("ohm", [1e-2, 10.0, 1e4])
def test_the_law_step_by_step_is_the_law_of_arrays(law: Silicon | SpaceCharge | Ideal, ohm: float) -> None:
    import numpy as np

    volts = np.array([1e-6, 0.01, 0.1, 0.3, 0.5, 0.7, 1.0, 5.0, 60.0, 400.0, 5000.0])
    together, _slope = law.current(volts, ohm)
    one_by_one = [law.passed(float(volt), ohm) for volt in volts]
    assert one_by_one == pytest.approx(together.tolist(), rel=1e-9, abs=1e-18)


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"secondary_vrms": 0.0}, "secondary_vrms"),
        ({"rectifier": "quarter_wave"}, "rectifier"),
        ({"source_ohm": math.nan}, "source_ohm"),
        ({"reservoir_farad": 0.0}, "reservoir_farad"),
        ({"mains_hz": math.inf}, "mains_hz"),
        ({"load_ohm": 0.0}, "load_ohm"),
        ({"load_ohm": 5e-324}, "load_ohm"),
        ({"drop": "12AX7"}, "drop"),
        ({"stages": None}, "stages"),
        ({"stages": [RC(0.0, 1e-6, 0.0)]}, "stages[0].ohm"),
        ({"stages": ["choke"]}, "stages[0]"),
        ({"stages": [LC(1e-6, 1.0, 1e-9, 0.0)]}, "stages"),
        ({"stages": [LC(1e5, 1.0, 1.0, 0.0)]}, "stages"),
        ({"reservoir_farad": 510.0, "load_ohm": 8.6e9}, "reservoir_farad"),
    ],
)
def test_bad_input_is_refused_by_name(changed: dict[str, Any], argument: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        cold_start(**{**SUPPLY, **changed})
    assert refused.value.argument == argument


def test_a_reservoir_that_no_cycle_changes_is_refused_by_the_steady_state_too() -> None:
    with pytest.raises(ElectricsError, match="reservoir_farad"):
        capacitor_input(
            secondary_vrms=231.0, rectifier="half_wave", source_ohm=643.0, reservoir_farad=510.0, mains_hz=745.0, load_ohm=8.6e9,
            drop="GZ34",
        )
