"""What the nodes of a sheet should read: with the mains, the meter's load and the parts' tolerances."""

from __future__ import annotations

import re

import pytest

from app.circuits.rules.blocks import Kind
from app.circuits.rules.work import GRID_HIGH, GRID_LOW, solved, work
from app.electrics import RC, capacitor_input, filter_chain, triode_stage
from tests.circuits import make

WHOLE = make.sheet()


def test_a_stage_on_a_known_supply_is_that_of_the_stage_sum() -> None:
    """12AX7, 300 V, 100k and 1k5: R5.2 of the reference values, RCA refit, 196.3 V and 1.555 V (computed there with ngspice)."""
    here = make.sheet(((Kind.RAIL, "HT4", {"volt": 300}), make.PUSH_PULL[9]), whole=False)
    point = solved(here, None).point
    stage = triode_stage(valve="12AX7", supply_v=300, anode_ohm=100e3, cathode_ohm=1500)
    assert point.volt["V1a anode"] == pytest.approx(stage.anode_v, rel=1e-3)
    assert point.volt["V1a anode"] == pytest.approx(196.32, rel=0.03)
    assert point.volt["V1a cathode"] == pytest.approx(stage.cathode_v, rel=1e-3)


def test_the_supply_is_that_of_capacitor_input_at_what_the_sheet_draws() -> None:
    found = solved(make.sheet(make.CATHODE_BIASED), None)
    (feed,) = found.made.feeds.values()
    drawn = found.point.amp["HT1 regulation"]
    supply = capacitor_input(secondary_vrms=250, rectifier="bridge", source_ohm=107, reservoir_farad=100e-6, mains_hz=50,
                             load_a=drawn)
    assert found.point.volt["HT1"] == pytest.approx(supply.mean_v, rel=5e-4)
    through = [found.point.amp[name] for name in ("HT2.ohm", "HT3.ohm")]
    nodes = filter_chain(supply, [RC(1000, 47e-6, through[0] - through[1]), RC(22e3, 22e-6, through[1])])
    for name, node in zip(("HT2", "HT3"), nodes, strict=True):
        assert found.point.volt[name] == pytest.approx(node.mean_v, rel=1e-3)
        rail = next(one for one in found.rails if one.name == name)
        assert rail.mean_v == pytest.approx(node.mean_v, rel=1e-3)
        assert rail.no_load_v == pytest.approx(250 * 2**0.5)
    assert feed.ohm == 107


def test_the_primary_and_the_limiting_resistor_are_part_of_the_source() -> None:
    (feed,) = solved(WHOLE, None).made.feeds.values()
    assert feed.ohm == pytest.approx(42 + 4.2 * (325 / 240) ** 2)


def test_mains_above_the_tap_moves_everything_and_both_are_said() -> None:
    worked = work(WHOLE, 264.0)
    assert worked.factor == pytest.approx(1.1)
    rail, bias = worked.of("HT1"), worked.of("bias")
    assert rail is not None and bias is not None
    assert rail.at_tap.value == pytest.approx(401.9, abs=0.5)
    assert 1.08 < rail.now.value / rail.at_tap.value < 1.11
    assert bias.now.value == pytest.approx(-38 * 1.1, rel=1e-3) and bias.at_tap.value == pytest.approx(-38, rel=1e-3)


def test_the_meter_takes_its_share_of_what_it_reads() -> None:
    """220 k and 10 M take 2.153 %: R8 of the reference values (computed)."""
    grid = work(WHOLE, None).of("V4 grid")
    assert grid is not None and grid.loading == pytest.approx(0.02153, rel=1e-3)
    assert grid.now.value == pytest.approx(-38 * (1 - 0.02153), rel=1e-3)
    old = work(WHOLE, None, 1e6).of("V4 grid")
    assert old is not None and old.loading == pytest.approx(0.1803, rel=1e-3)
    anode = work(WHOLE, None).of("V1a anode")
    assert anode is not None and 0.003 < anode.loading < 0.012


def test_bands_are_narrower_with_the_mains_read_and_with_measured_parts() -> None:
    def width(name: str, mains: float | None, here: object = WHOLE) -> float:
        found = work(here, mains).of(name)  # type: ignore[arg-type]
        assert found is not None
        return (found.now.high - found.now.low) / found.now.value
    assert width("HT1", 240.0) < 0.5 * width("HT1", None)
    measured = make.changed(WHOLE, "V1a", "anode_ohm", make.Given(100e3, tolerance=0.005))
    assert width("V1a anode", 240.0, measured) < width("V1a anode", 240.0)


def test_a_grid_at_chassis_is_allowed_what_no_model_has() -> None:
    found = work(WHOLE, 240.0).of("V1a grid")
    assert found is not None and (found.now.low, found.now.high) == (GRID_LOW, GRID_HIGH)


def test_heaters_follow_the_mains_and_stay_within_a_tenth_of_nominal() -> None:
    """6.87 V at 240 V on a 220 V tap: R7 of the reference values (computed)."""
    found = work(make.changed(WHOLE, "mains", "tap_v", 220), 240.0).of("heaters AC")
    assert found is not None and found.now.value == pytest.approx(6.873, abs=0.001)
    assert (found.now.low, found.now.high) == (pytest.approx(5.67), pytest.approx(6.93))


def test_four_output_valves_and_one() -> None:
    four = make.changed(make.changed(WHOLE, "V4 V5", "count", "4"), "HT winding", "ohm", 20)
    nodes = {one.node.name for one in work(four, None).expected}
    assert {"V4 V5 1 V4 V5 3 anode", "V4 V5 4 grid"} <= nodes
    one = make.changed(make.changed(make.sheet(make.CATHODE_BIASED), "V2 V3", "count", "1"), "V2 V3", "cathode_ohm", 300)
    assert work(one, None).of("V2 V3 1 anode") is not None


@pytest.mark.parametrize(("block", "field", "value", "words"), [
    ("bias", "set_v", -8, "no valve stands that"), ("HT winding", "volt", 1400, "rated|no valve stands")])
def test_a_number_outside_what_the_models_cover_is_not_shown(block: str, field: str, value: float, words: str) -> None:
    worked = work(make.changed(WHOLE, block, field, value), 240.0)
    assert re.search(words, " ".join(why for _name, reasons in worked.why_not for why in reasons))
    assert worked.of("HT1") is None and worked.of("V4 anode") is None
