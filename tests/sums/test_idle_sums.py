"""Every verdict over a bias counts the spread of valves, the worst mains on bias and HT, and says its rating system."""

from __future__ import annotations

import pytest

from app.bench.sums.kinds import Answer
from app.bench.sums.sections import SUMS
from app.electrics import bias_network, idle_grid, pentode_currents, valve
from tests.sums.test_sections import default, figure

BIASED = ("bias", "idle", "idle-by-winding", "cathode-bias", "push-pull")


def bar(answer: Answer, words: str) -> float:
    return next(one.found for one in answer.limits if words in one.name)


@pytest.mark.parametrize("key", BIASED)
def test_a_spread_of_30_percent_is_shown_as_a_field(key: str) -> None:
    fields = {field.name: field for field in SUMS[key].fields}
    assert fields["spread"].default == "30" and fields["mains_tolerance"].default == "10"
    assert any("spread of new valves: common practice" in one.text for one in SUMS[key].sources)


@pytest.mark.parametrize("key", BIASED)
def test_more_spread_and_more_mains_never_help(key: str) -> None:
    order = {"pass": 0, "doubt": 1, "fail": 2}

    def worst(**changed: float) -> float:
        return next(one.found for one in default(SUMS[key], **changed).limits if "at worst" in one.name)

    assert worst(spread=0.0, mains_tolerance=0.0) < worst(spread=0.3, mains_tolerance=0.0) < worst(spread=0.3, mains_tolerance=0.1)
    calm, wild = default(SUMS[key], spread=0.0, mains_tolerance=0.0).verdict, default(SUMS[key], spread=0.8).verdict
    assert wild is not None and (calm is None or order[calm[0]] <= order[wild[0]])


def test_mains_works_on_bias_and_ht_together() -> None:
    """The coldest setting at the highest mains: the network solved at 1.1 times its tap, the valve at 1.1 times its volts."""
    answer = default(SUMS["bias"], spread=0.0, tolerance=0.0, range_tolerance=0.0)
    network = bias_network(tap_vrms=55.0, mains_hz=50.0, series_ohm=470.0, reservoir_farad=50e-6, range_ohm=27e3, pot_ohm=25e3,
                           load_ohm=110e3, layout="divider")
    anode, _ = pentode_currents("6L6GC", anode_v=495.0, screen_v=440.0, grid_v=network.coldest_v)
    assert bar(answer, "coldest setting") == pytest.approx(anode * 495.0, rel=0.01)


def test_a_pot_that_cannot_tame_a_strong_valve_is_no_pass() -> None:
    safe = {"layout": "pot_to_ground", "floor_ohm": 33e3, "tap_vrms": 60.0, "tolerance": 0.0, "range_tolerance": 0.0}
    found = default(SUMS["bias"], **safe, load_ohm=220e3, anode_v=480.0, screen_v=470.0)
    assert found.verdict == ("fail", "cannot be set cold enough")
    assert bar(found, "coldest setting") > 30.0


def test_an_idle_that_only_the_nominal_mains_keeps_within_is_not_green() -> None:
    """6L6GC, design-maximum: 27 W of 30 W at the nominal mains is over it at 10 % more; the EL34's design-centre limit is not
    meant for that, and is still doubted."""
    hot = default(SUMS["idle"], anode_v=450.0, cathode_a=63e-3, spread=0.0)
    assert hot.verdict == ("fail", "too hot") and bar(hot, "highest mains") > 30.0 > bar(hot, "anode's heat")
    centre = default(SUMS["idle"], valve="EL34", anode_v=425.0, cathode_a=62e-3, spread=0.0)
    assert centre.verdict == ("doubt", "too hot at worst")


def test_green_is_still_within_reach() -> None:
    """The 6L6GC's anode watts and volts were seen; its screen's were not, so a sum that holds the screen too stays in doubt."""
    cool = default(SUMS["idle-by-winding"], drop_v=2.4, anode_v=400.0)
    assert cool.verdict == ("pass", "within the limit")
    assert max(one.share for one in cool.limits) <= 0.9
    assert default(SUMS["idle"], cathode_a=30e-3, anode_v=400.0).verdict == ("doubt", "within a limit from memory")


def test_a_design_centre_voltage_is_held_at_the_nominal_mains() -> None:
    """EL84, 300 V design-centre: 310 V less the cathode's is within it, and is not multiplied by the mains; a 6L6GC's is."""
    el84, beam = default(SUMS["cathode-bias"]), default(SUMS["idle"])
    assert 290.0 < bar(el84, "anode voltage") < 300.0
    assert bar(beam, "anode voltage") == pytest.approx(495.0)


@pytest.mark.parametrize(("name", "percent", "system"), [("EL34", "70 %", "design-centre"), ("6L6GC", "64 %", "design-maximum"),
                                                         ("KT88", "58 %", "absolute")])
def test_the_usual_idle_and_the_remark_are_said(name: str, percent: str, system: str) -> None:
    answer = default(SUMS["idle"], valve=name)
    notes = " ".join(answer.notes)
    assert f"Usual idle: {percent} of" in notes and system in notes
    assert valve(name).remark in notes
    assert figure(answer, "target_a") == pytest.approx(float(percent[:2]) / 100 * valve(name).anode_limit_w() / 450.0, rel=0.01)


def test_the_error_of_the_fit_is_said_beside_the_model() -> None:
    said = " ".join(one.text for one in default(SUMS["bias"], valve="6550").sources)
    assert "within 9.1 % at each of its 5 published points" in said


def test_the_bias_of_the_usual_idle_follows_the_system() -> None:
    share = 0.7 / 1.1
    expected = idle_grid(valve="6L6GC", anode_v=450.0, screen_v=400.0, share=share)
    assert figure(default(SUMS["bias"]), "usual_v") == pytest.approx(expected)


def test_push_pull_takes_what_feeds_the_pair() -> None:
    """EL84, 300 V, 130 ohm, 8 k: 17 W published (load, volts and power seen); and a sagging HT costs power."""
    pair = {"valve": "EL84", "supply_v": 300.0, "screen_v": 300.0, "biased": "cathode", "load_aa_ohm": 8000.0}
    answer = default(SUMS["push-pull"], **pair)
    assert figure(answer, "power_w") == pytest.approx(17.0, rel=0.10)
    assert figure(answer, "cathode_v") > 10.0 and figure(answer, "cathode_resistor_w") > 0.5
    assert figure(default(SUMS["push-pull"], **pair, supply_ohm=500.0), "power_w") < 0.97 * figure(answer, "power_w")


def test_parts_out_of_value_make_the_coldest_setting_hotter_never_colder() -> None:
    """Found after the fact: the corner with the most bias was held against the limit, not the one with the least."""
    earth = {"layout": "pot_to_ground", "floor_ohm": 33e3, "tap_vrms": 60.0}
    exact = default(SUMS["bias"], **earth, tolerance=0.0, range_tolerance=0.0)
    loose = default(SUMS["bias"], **earth, tolerance=0.1, range_tolerance=0.2)
    assert bar(loose, "coldest setting") > 1.2 * bar(exact, "coldest setting")
