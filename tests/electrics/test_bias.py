"""Idle current: readings, targets and shared cathode resistors."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import (
    ElectricsError,
    anode_current_by_resistance,
    cathode_bias,
    idle_point,
    idle_target,
    pentode_currents,
    sheet_screen_share,
    valve,
    valve_names,
)

PENTODES = [name for name in valve_names() if valve(name).kind == "pentode"]


def test_cathode_current_less_screen_current_is_anode_current():
    got = idle_point(valve="6L6GC", anode_v=450, cathode_a=0.040, screen_a=0.002)
    assert got.anode_a == pytest.approx(0.038)
    assert got.screen_a == 0.002
    assert got.anode_dissipation_w == pytest.approx(17.1)
    assert got.share_of_max == pytest.approx(0.57)
    assert got.screen_share_of_max == pytest.approx(450 * 0.002 / 5)
    assert (got.limit_w, got.system, got.cathode_v) == (30.0, "design-maximum", 0.0)


def test_screen_share_is_of_the_cathode_current():
    got = idle_point(valve="EL34", anode_v=430, cathode_a=0.050, screen_share=0.12)
    assert (got.screen_a, got.anode_a) == (pytest.approx(0.006), pytest.approx(0.044))


def test_cathode_volts_come_off_anode_and_screen():
    got = idle_point(valve="EL84", anode_v=320, cathode_a=0.04, screen_a=0.004, cathode_v=11, screen_v=310)
    assert got.anode_dissipation_w == pytest.approx(309 * 0.036)
    assert got.screen_dissipation_w == pytest.approx(299 * 0.004)


def test_without_a_screen_reading_the_sheet_s_share_stands_in():
    """6L6GC at 450 V: the sheet's 2.8 mA beside 58 mA (General Electric, from memory)."""
    got = idle_point(valve="6L6GC", anode_v=450, cathode_a=0.0608)
    assert got.screen_a == pytest.approx(0.0028)
    assert sheet_screen_share("6L6GC", 250, 0.077) == pytest.approx(5 / 77)
    assert sheet_screen_share("12AX7", 250, 0.001) == 0.0


def test_a_triode_has_no_screen():
    got = idle_point(valve="6SN7GT", anode_v=250, cathode_a=0.009)
    assert (got.screen_a, got.screen_share_of_max) == (0.0, 0.0)
    assert got.anode_dissipation_w == pytest.approx(2.25)


@pytest.mark.parametrize(
    ("name", "anode", "amp", "word"),
    [("EL84", 350, 0.045, "Too hot"), ("EL84", 300, 0.030, "dissipates"), ("EL84", 300, 0.0, "Next to no")],
)
def test_the_verdict_is_said_in_words(name, anode, amp, word):
    assert word in idle_point(valve=name, anode_v=anode, cathode_a=amp, screen_a=0.0).words


def test_a_limit_from_memory_says_so():
    seen = idle_point(valve="EL84", anode_v=300, cathode_a=0.03, screen_a=0.0)
    remembered = idle_point(valve="5881", anode_v=300, cathode_a=0.03, screen_a=0.0)
    assert (seen.limit_mark, remembered.limit_mark) == ("S", "M")
    assert "from memory" in remembered.words
    assert "from memory" not in seen.words


def test_words_name_the_screen_and_the_anode_volts_when_over():
    words = idle_point(valve="EL84", anode_v=350, cathode_a=0.035, screen_a=0.010).words
    assert "screen is over" in words
    assert "above its 300 V" in words


@pytest.mark.parametrize(
    ("change", "argument"),
    [
        ({"anode_v": 0}, "anode_v"),
        ({"cathode_a": -0.001}, "cathode_a"),
        ({"screen_a": 0.1}, "screen_a"),
        ({"screen_share": 1.5}, "screen_share"),
        ({"screen_a": 0.001, "screen_share": 0.1}, "screen_share"),
        ({"cathode_v": 500}, "cathode_v"),
        ({"screen_v": 20, "cathode_v": 30}, "cathode_v"),
        ({"screen_v": 0}, "screen_v"),
        ({"cathode_a": math.nan}, "cathode_a"),
        ({"valve": "GZ34"}, "valve"),
        ({"valve": "6L66"}, "valve"),
    ],
)
def test_readings_out_of_range_are_refused_by_name(change, argument):
    reading = {"valve": "6L6GC", "anode_v": 450, "cathode_a": 0.04}
    with pytest.raises(ElectricsError) as refusal:
        idle_point(**{**reading, **change})
    assert refusal.value.argument == argument


@given(name=st.sampled_from(PENTODES), anode=st.floats(100, 700), share=st.floats(0.01, 1))
def test_a_target_read_back_is_the_share_asked_for(name, anode, share):
    target = idle_target(valve=name, anode_v=anode, share=share)
    got = idle_point(valve=name, anode_v=anode, cathode_a=target, screen_a=0.0)
    assert got.share_of_max == pytest.approx(share)
    assert idle_target(valve=name, anode_v=anode * 2, share=share) == pytest.approx(target / 2)


@pytest.mark.parametrize("share", [0, -0.1, 1.01, 70, math.nan])
def test_a_share_is_a_fraction_up_to_one(share):
    with pytest.raises(ElectricsError) as refusal:
        idle_target(valve="EL34", anode_v=450, share=share)
    assert refusal.value.argument == "share"


def test_winding_drop():
    assert anode_current_by_resistance(drop_v=4.2, winding_ohm=70) == pytest.approx(0.06)
    assert anode_current_by_resistance(drop_v=0, winding_ohm=70) == 0.0
    for bad in ({"drop_v": -1, "winding_ohm": 70}, {"drop_v": 1, "winding_ohm": 0}):
        with pytest.raises(ElectricsError):
            anode_current_by_resistance(**bad)


@given(
    name=st.sampled_from(PENTODES),
    supply=st.floats(250, 600),
    screen=st.floats(20, 300),
    ohm=st.floats(5, 5e3),
    count=st.integers(1, 6),
    winding=st.sampled_from([0.0, 80.0, 400.0]),
)
def test_every_cathode_bias_solution_lies_on_the_valve_and_the_resistor(
    name, supply, screen, ohm, count, winding
):
    got = cathode_bias(
        valve=name, supply_v=supply, screen_v=screen, cathode_ohm=ohm, valves=count, winding_ohm=winding
    )
    assert got.cathode_v == pytest.approx(count * got.cathode_a * ohm, rel=1e-9)
    across = supply - got.cathode_v - winding * got.anode_a
    anode, screen_a = pentode_currents(
        name, anode_v=max(across, 0.0), screen_v=screen - got.cathode_v, grid_v=-got.cathode_v
    )
    assert anode == pytest.approx(got.anode_a, rel=1e-6, abs=1e-12)
    assert screen_a == pytest.approx(got.screen_a, rel=1e-6, abs=1e-12)
    assert got.anode_dissipation_w == pytest.approx(got.anode_a * across, rel=1e-6, abs=1e-12)


@given(ohm=st.floats(50, 1000), more=st.floats(1.02, 4))
def test_a_larger_resistor_cools_the_pair(ohm, more):
    here, there = (
        cathode_bias(valve="EL84", supply_v=320, screen_v=310, cathode_ohm=r) for r in (ohm, ohm * more)
    )
    assert there.anode_a < here.anode_a
    assert there.cathode_v > here.cathode_v


def test_no_solution_is_said_in_words():
    with pytest.raises(ElectricsError, match="no solution") as refusal:
        cathode_bias(valve="EL34", supply_v=10, screen_v=400, cathode_ohm=5000)
    assert refusal.value.argument == "supply_v"


def test_one_valve_pulled_heats_the_other():
    pair = cathode_bias(valve="EL84", supply_v=320, screen_v=310, cathode_ohm=130)
    alone = cathode_bias(valve="EL84", supply_v=320, screen_v=310, cathode_ohm=130, valves=1)
    assert alone.anode_a > 1.2 * pair.anode_a
    assert "Too hot" in alone.words


def test_winding_resistance_takes_volts_from_the_anode():
    straight, dropped = (
        cathode_bias(valve="6V6", supply_v=330, screen_v=320, cathode_ohm=250, winding_ohm=ohm)
        for ohm in (0, 200)
    )
    assert dropped.anode_dissipation_w < straight.anode_dissipation_w


@pytest.mark.parametrize(
    ("change", "argument"),
    [
        ({"valve": "12AX7"}, "valve"),
        ({"supply_v": 0}, "supply_v"),
        ({"screen_v": -5}, "screen_v"),
        ({"cathode_ohm": 0}, "cathode_ohm"),
        ({"valves": 0}, "valves"),
        ({"valves": 2.0}, "valves"),
        ({"valves": True}, "valves"),
        ({"winding_ohm": -1}, "winding_ohm"),
    ],
)
def test_cathode_bias_refuses_by_name(change, argument):
    usual = {"valve": "EL84", "supply_v": 310, "screen_v": 310, "cathode_ohm": 130}
    with pytest.raises(ElectricsError) as refusal:
        cathode_bias(**{**usual, **change})
    assert refusal.value.argument == argument
