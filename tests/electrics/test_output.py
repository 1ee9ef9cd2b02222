"""Output transformer, load, catch diodes, heater balance and push-pull."""

from __future__ import annotations

import math
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import (
    LOAD_CAUTION,
    MEASURE_CAUTION,
    ElectricsError,
    composite_line,
    damping_factor,
    flyback,
    heater_balance,
    mismatch,
    output_ohm,
    output_power,
    pentode_currents,
    push_pull,
    reflected_load,
    turns_ratio,
    valve,
    valve_names,
)

PENTODES = [name for name in valve_names() if valve(name).kind == "pentode"]
USUAL = {"valve": "6L6GC", "supply_v": 450.0, "screen_v": 400.0, "bias_v": -37.0, "load_aa_ohm": 5600.0}

volts = st.floats(0.01, 1000)
ohms = st.floats(0.5, 1000)


@given(primary=volts, secondary=volts, load=ohms)
def test_reflected_load_is_the_square_of_the_ratio(primary, secondary, load):
    ratio = turns_ratio(primary_v=primary, secondary_v=secondary)
    assert reflected_load(turns_ratio=ratio, load_ohm=load) == pytest.approx(ratio * ratio * load)
    assert reflected_load(turns_ratio=ratio, load_ohm=2 * load) == pytest.approx(2 * ratio**2 * load)


@given(inside=st.floats(0.05, 50), load=ohms, drive=volts)
def test_damping_factor_finds_the_impedance_inside(inside, load, drive):
    loaded = drive * load / (load + inside)
    reading = {"open_v": drive, "loaded_v": loaded, "load_ohm": load}
    assert output_ohm(**reading) == pytest.approx(inside, rel=1e-6)
    assert damping_factor(**reading) == pytest.approx(load / inside, rel=1e-6)


def test_power_is_in_true_rms_volts():
    assert output_power(volt_rms=20, load_ohm=8) == 50
    assert output_power(volt_rms=0, load_ohm=8) == 0


@pytest.mark.parametrize(
    ("call", "values", "argument"),
    [
        (turns_ratio, {"primary_v": 10, "secondary_v": 0}, "secondary_v"),
        (turns_ratio, {"primary_v": -10, "secondary_v": 1}, "primary_v"),
        (reflected_load, {"turns_ratio": 0, "load_ohm": 8}, "turns_ratio"),
        (reflected_load, {"turns_ratio": 25, "load_ohm": -8}, "load_ohm"),
        (output_power, {"volt_rms": -1, "load_ohm": 8}, "volt_rms"),
        (output_power, {"volt_rms": 1, "load_ohm": 0}, "load_ohm"),
        (damping_factor, {"open_v": 10, "loaded_v": 10, "load_ohm": 8}, "loaded_v"),
        (damping_factor, {"open_v": 10, "loaded_v": 12, "load_ohm": 8}, "loaded_v"),
        (damping_factor, {"open_v": 10, "loaded_v": 5, "load_ohm": 0}, "load_ohm"),
        (mismatch, {"nominal_ohm": 0, "load_ohm": 8}, "nominal_ohm"),
        (mismatch, {"nominal_ohm": 8, "load_ohm": math.inf}, "load_ohm"),
        (flyback, {"supply_v": 0, "diode_piv_v": 1000}, "supply_v"),
        (flyback, {"supply_v": 450, "diode_piv_v": 0}, "diode_piv_v"),
        (flyback, {"supply_v": 450, "diode_piv_v": 1000, "diodes": 0}, "diodes"),
        (flyback, {"supply_v": 450, "diode_piv_v": 1000, "diodes": 2.5}, "diodes"),
        (flyback, {"supply_v": 450, "diode_piv_v": 1000, "swing_v": -1}, "swing_v"),
        (heater_balance, {"heater_v": 6.3, "ohm_each": 0}, "ohm_each"),
        (heater_balance, {"heater_v": math.nan, "ohm_each": 100}, "heater_v"),
    ],
)
def test_readings_out_of_range_are_refused_by_name(call, values, argument):
    with pytest.raises(ElectricsError) as refusal:
        call(**values)
    assert refusal.value.argument == argument


@pytest.mark.parametrize(
    ("load", "verdict", "word"),
    [(8, "matched", "Matched"), (8.7, "matched", "Matched"), (7.3, "matched", "Matched"),
     (9, "tolerable", "moderate"), (16, "tolerable", "moderate"), (4, "tolerable", "moderate"),
     (16.1, "too high", "never play without a load"), (3.9, "too low", "less power")],
)  # fmt: skip
def test_mismatch_says_its_verdict(load, verdict, word):
    got = mismatch(nominal_ohm=8, load_ohm=load)
    assert (got.ratio, got.verdict) == (pytest.approx(load / 8), verdict)
    assert word in got.words


def test_cautions_speak_of_what_kills():
    assert "lethal" in MEASURE_CAUTION
    assert "lethal" in LOAD_CAUTION
    assert "without a load" in LOAD_CAUTION


# --- catch diodes: reverse volts by geometry; the failure is common practice, no source ---


def test_catch_diodes_stand_supply_plus_swing():
    got = flyback(supply_v=450, diodes=3, diode_piv_v=1000)
    assert (got.reverse_v, got.per_diode_v) == (900, 300)
    assert got.margin == pytest.approx(10 / 3)
    assert got.margin_v == 700
    assert got.verdict == "good"
    known = flyback(supply_v=450, swing_v=400, diodes=1, diode_piv_v=1000)
    assert (known.reverse_v, known.verdict) == (850, "thin")
    assert flyback(supply_v=600, diodes=1, diode_piv_v=1000).verdict == "too few"


@pytest.mark.parametrize(("piv", "verdict"), [(899.9, "too few"), (900, "thin"), (1349, "thin"), (1350, "good")])
def test_the_margin_of_a_string_has_sharp_edges(piv, verdict):
    assert flyback(supply_v=450, diode_piv_v=piv).verdict == verdict


def test_a_failing_catch_diode_spares_the_transformer():
    said = flyback(supply_v=450, diodes=3, diode_piv_v=1000).on_failure
    assert "short" in said
    assert "fuse blows" in said
    assert "transformer is spared" in said


@given(supply=st.floats(50, 900), swing=st.floats(0, 900), diodes=st.integers(1, 12))
def test_more_diodes_share_the_volts(supply, swing, diodes):
    got = flyback(supply_v=supply, swing_v=swing, diodes=diodes, diode_piv_v=1000)
    assert got.per_diode_v * diodes == pytest.approx(supply + swing)
    if diodes < 12:
        assert flyback(supply_v=supply, swing_v=swing, diodes=diodes + 1, diode_piv_v=1000).margin > got.margin


# --- heater balance ---


def test_two_hundred_ohm_pair_on_six_volts():
    """Ohm's law: 6.3 V over 2 x 100 ohm is 31.5 mA, 99 mW in each."""
    got = heater_balance(heater_v=6.3, ohm_each=100)
    assert got.current_a == pytest.approx(0.0315)
    assert got.power_each_w == pytest.approx(0.0992, abs=1e-4)
    assert got.power_w == pytest.approx(2 * got.power_each_w)
    assert "humdinger" in got.words
    assert "0.40 W" in got.words


# --- push-pull ---


def test_the_load_per_side_is_a_quarter():
    got = push_pull(**USUAL)
    assert got.load_per_side_ohm == 1400
    assert got.least_anode_v == pytest.approx(450 - 1400 * got.peak_anode_a, abs=6)
    assert got.drive_v == 37
    assert got.class_a_power_w == pytest.approx(got.idle_anode_a**2 * 5600 / 2)


def test_idle_figures_are_the_valve_s_own():
    got = push_pull(**USUAL)
    anode, screen = pentode_currents("6L6GC", anode_v=450, screen_v=400, grid_v=-37)
    assert (got.idle_anode_a, got.idle_screen_a) == (pytest.approx(anode), pytest.approx(screen))
    assert got.idle_dissipation_w == pytest.approx(450 * anode)
    assert got.worst_dissipation_w >= got.idle_dissipation_w * 0.999


@settings(max_examples=40)
@given(
    name=st.sampled_from(PENTODES),
    supply=st.floats(100, 800),
    screen=st.floats(100, 500),
    bias=st.floats(-80, -2),
    load=st.floats(500, 20e3),
)
def test_energy_is_conserved_whatever_the_parts(name, supply, screen, bias, load):
    got = push_pull(valve=name, supply_v=supply, screen_v=screen, bias_v=bias, load_aa_ohm=load)
    assert all(math.isfinite(getattr(got, f.name)) for f in fields(got) if f.name != "words")
    assert supply * got.mean_supply_a == pytest.approx(got.power_w + 2 * got.anode_dissipation_w)
    assert got.screen_dissipation_w == pytest.approx(screen * got.mean_screen_a / 2)  # each of two valves
    assert got.anode_dissipation_w > 0
    assert 0 < got.efficiency < 0.99
    assert 0 <= got.least_anode_v < supply
    assert got.worst_dissipation_w >= max(got.anode_dissipation_w, got.idle_dissipation_w)
    assert got.class_a_power_w <= got.power_w


@settings(max_examples=25)
@given(bias=st.floats(-50, -20), colder=st.floats(0.5, 10))
def test_a_colder_bias_idles_cooler(bias, colder):
    here, there = (push_pull(**{**USUAL, "bias_v": volt}) for volt in (bias, bias - colder))
    assert there.idle_dissipation_w < here.idle_dissipation_w
    assert there.mean_supply_a < here.mean_supply_a * 1.001


def test_more_screen_volts_give_more_power():
    assert push_pull(**{**USUAL, "screen_v": 430}).power_w > push_pull(**USUAL).power_w


def test_an_overloaded_valve_is_named_in_words():
    words = push_pull(**{**USUAL, "valve": "6L6", "bias_v": -15.0}).words
    assert "above its 19 W (design-centre)" in words
    assert push_pull(**USUAL).words == "58 W at full drive."


def test_the_drawn_line_passes_through_rest_and_ends_at_zero_bias():
    got, line = push_pull(**USUAL), composite_line(**USUAL, points=41)
    assert (line.grid_v[0], line.grid_v[20], line.grid_v[-1]) == (-74, -37, 0)
    assert line.anode_v[20] == pytest.approx(450, abs=1e-6)
    assert line.anode_a[20] == pytest.approx(got.idle_anode_a)
    assert line.anode_a[-1] == pytest.approx(got.peak_anode_a)
    assert line.anode_v[-1] == pytest.approx(got.least_anode_v)
    assert line.other_anode_a[0] == pytest.approx(line.anode_a[-1])


@pytest.mark.parametrize(
    ("change", "argument"),
    [
        ({"valve": "12AX7"}, "valve"),
        ({"supply_v": 0}, "supply_v"),
        ({"screen_v": 2000}, "screen_v"),
        ({"bias_v": 37}, "bias_v"),
        ({"bias_v": 0}, "bias_v"),
        ({"load_aa_ohm": 0}, "load_aa_ohm"),
        ({"load_aa_ohm": math.nan}, "load_aa_ohm"),
    ],
)
def test_push_pull_refuses_by_name(change, argument):
    with pytest.raises(ElectricsError) as refusal:
        push_pull(**{**USUAL, **change})
    assert refusal.value.argument == argument
