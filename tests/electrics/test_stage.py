"""The triode stage: what every solution must satisfy, whatever the parts."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import (
    ElectricsError,
    StageSamples,
    simulate,
    stage_gain,
    triode_current,
    triode_stage,
    triode_stage_samples,
    valve,
    valve_names,
)

TRIODES = [name for name in valve_names() if valve(name).kind == "triode"]
USUAL = {"valve": "12AX7", "supply_v": 300.0, "anode_ohm": 100e3, "cathode_ohm": 1500.0}


@given(
    name=st.sampled_from(TRIODES),
    supply=st.floats(1, 800),
    ra=st.floats(10, 5e6),
    rk=st.one_of(st.just(0.0), st.floats(1, 1e6)),
    rg=st.one_of(st.none(), st.floats(1e3, 1e7)),
    bypassed=st.booleans(),
)
def test_every_solution_lies_on_the_valve_and_on_both_resistors(name, supply, ra, rk, rg, bypassed):
    got = triode_stage(
        valve=name, supply_v=supply, anode_ohm=ra, cathode_ohm=rk, bypassed=bypassed, next_grid_ohm=rg
    )
    across = max(got.anode_v - got.cathode_v, 0.0)
    passes = triode_current(name, anode_v=across, grid_v=-got.cathode_v)
    assert passes == pytest.approx(got.anode_a, rel=1e-5, abs=1e-12)
    assert got.anode_a == pytest.approx((supply - got.anode_v) / ra, rel=1e-9, abs=1e-10 * supply / ra + 1e-15)
    assert got.cathode_v == pytest.approx(got.anode_a * rk)
    assert got.dissipation_w == pytest.approx(got.anode_a * (got.anode_v - got.cathode_v))
    assert 0.0 <= got.gain < 110
    assert 0.0 < got.output_ohm <= ra * (1 + 1e-9)
    assert all(math.isfinite(value) for value in (got.mu, got.gm_s, got.share_of_max))


@given(rk=st.floats(100, 20e3), more=st.floats(1.01, 5))
def test_a_larger_cathode_resistor_means_less_current_and_more_anode_volts(rk, more):
    here, there = (triode_stage(**{**USUAL, "cathode_ohm": ohm}) for ohm in (rk, rk * more))
    assert there.anode_a < here.anode_a
    assert there.anode_v > here.anode_v
    assert there.cathode_v > here.cathode_v


@given(supply=st.floats(50, 500), more=st.floats(1, 300))
def test_more_supply_means_more_current(supply, more):
    here, there = (triode_stage(**{**USUAL, "supply_v": volt}) for volt in (supply, supply + more))
    assert there.anode_a > here.anode_a


@given(rg=st.floats(1e4, 1e7), rk=st.floats(100, 20e3))
def test_loading_and_lifting_the_bypass_only_lose_gain(rg, rk):
    free = triode_stage(**{**USUAL, "cathode_ohm": rk})
    loaded = triode_stage(**{**USUAL, "cathode_ohm": rk}, next_grid_ohm=rg)
    bare = triode_stage(**{**USUAL, "cathode_ohm": rk}, bypassed=False, next_grid_ohm=rg)
    assert free.gain > loaded.gain > bare.gain
    assert free.output_ohm == loaded.output_ohm < bare.output_ohm
    assert free.anode_a == bare.anode_a


def test_gain_is_that_of_the_equivalent_circuit():
    got = triode_stage(**USUAL, bypassed=False, next_grid_ohm=1e6)
    assert got.rp_ohm is not None
    load = 1 / (1 / 100e3 + 1 / 1e6)
    text = stage_gain(mu=got.mu, rp_ohm=got.rp_ohm, load_ohm=load, cathode_ohm=1500)
    assert got.gain == pytest.approx(text, rel=1e-9)
    inside = got.rp_ohm + (got.mu + 1) * 1500
    assert got.output_ohm == pytest.approx(1 / (1 / 100e3 + 1 / inside), rel=1e-9)


def test_gain_is_the_slope_of_the_solution_itself():
    """A millivolt of cathode-bias shift by hand: the unloaded bypassed gain is dVa/dVg at fixed cathode volts."""
    rest = triode_stage(**USUAL)

    def anode(grid: float) -> float:
        low, high = 0.0, 300.0
        for _ in range(80):
            va = (low + high) / 2
            amp = triode_current("12AX7", anode_v=max(va - rest.cathode_v, 0), grid_v=grid - rest.cathode_v)
            low, high = (va, high) if 300 - amp * 100e3 > va else (low, va)
        return va

    assert (anode(-1e-3) - anode(1e-3)) / 2e-3 == pytest.approx(rest.gain, rel=1e-5)


def test_cut_off_and_hot_stages_say_so():
    cut = triode_stage(valve="12AU7", supply_v=5, anode_ohm=100e3, cathode_ohm=10e6)
    assert any("cut off" in note for note in cut.notes)
    hot = triode_stage(valve="12AX7", supply_v=500, anode_ohm=1e3, cathode_ohm=100)
    assert hot.share_of_max > 1
    assert any("of its 1 W" in note for note in hot.notes)
    assert any("above its 300 V" in note for note in hot.notes)
    near_zero = triode_stage(valve="12AX7", supply_v=300, anode_ohm=100e3, cathode_ohm=100)
    assert any("grid begins to draw" in note for note in near_zero.notes)
    assert triode_stage(**USUAL).notes == ()


@pytest.mark.parametrize(
    ("argument", "value"),
    [("supply_v", 0), ("supply_v", 6000), ("supply_v", math.nan), ("anode_ohm", 0), ("anode_ohm", -1),
     ("cathode_ohm", -1), ("cathode_ohm", math.inf), ("next_grid_ohm", 0)],
)  # fmt: skip
def test_parts_out_of_range_are_refused_by_name(argument, value):
    with pytest.raises(ElectricsError) as refusal:
        triode_stage(**{**USUAL, argument: value})
    assert refusal.value.argument == argument


@pytest.mark.parametrize("name", ["EL84", "5Y3", "nonsense"])
def test_a_stage_needs_a_triode(name):
    with pytest.raises(ElectricsError) as refusal:
        triode_stage(**{**USUAL, "valve": name})
    assert refusal.value.argument == "valve"


def test_a_model_of_ones_own_goes_in_as_a_valve():
    tired = replace(valve("12AX7"), model=replace(valve("12AX7").triode(), kg1=2 * valve("12AX7").triode().kg1))
    assert triode_stage(**{**USUAL, "valve": tired}).anode_a < triode_stage(**USUAL).anode_a


# --- many at once ---


def test_samples_equal_the_single_solutions():
    rng = np.random.default_rng(7)
    supply, ra, rk = rng.uniform(100, 450, 40), rng.uniform(2e4, 3e5, 40), rng.uniform(300, 6e3, 40)
    many = triode_stage_samples(
        valve="12AX7", supply_v=supply, anode_ohm=ra, cathode_ohm=rk, bypassed=False, next_grid_ohm=1e6
    )
    for index in range(40):
        one = triode_stage(
            valve="12AX7", supply_v=float(supply[index]), anode_ohm=float(ra[index]),
            cathode_ohm=float(rk[index]), bypassed=False, next_grid_ohm=1e6,
        )  # fmt: skip
        for field in fields(StageSamples):
            assert getattr(many, field.name)[index] == pytest.approx(getattr(one, field.name), rel=1e-8)


def test_ten_thousand_stages_spread_about_the_nominal_one():
    rng = np.random.default_rng(3)
    many = triode_stage_samples(
        valve="12AX7", supply_v=300, anode_ohm=rng.uniform(9e4, 11e4, 10_000),
        cathode_ohm=rng.uniform(1350, 1650, 10_000), next_grid_ohm=1e6,
    )  # fmt: skip
    one = triode_stage(valve="12AX7", supply_v=300, anode_ohm=1e5, cathode_ohm=1500, next_grid_ohm=1e6)
    assert many.anode_v.shape == many.cathode_v.shape == (10_000,)
    assert many.anode_v.min() < one.anode_v < many.anode_v.max()
    assert many.anode_v.mean() == pytest.approx(one.anode_v, rel=0.01)


def test_a_stage_spreads_with_its_tolerances():
    solve = partial(triode_stage_samples, valve="12AX7", next_grid_ohm=1e6)
    nominal = {"supply_v": 300.0, "anode_ohm": 100e3, "cathode_ohm": 1500.0}
    tight, wide = (
        simulate(solve, nominal=nominal, tolerances={"anode_ohm": part, "cathode_ohm": part}, samples=2000)
        for part in (0.01, 0.10)
    )
    assert tight["anode_v"].nominal == pytest.approx(triode_stage(**USUAL).anode_v)
    assert wide["anode_v"].high - wide["anode_v"].low > 5 * (tight["anode_v"].high - tight["anode_v"].low)


def test_tired_valves_pass_less():
    strong, weak = (
        triode_stage_samples(**USUAL, emission=share).anode_a for share in (1.0, np.array([0.5, 0.8]))
    )
    assert strong.shape == ()
    assert weak[0] < weak[1] < strong


@pytest.mark.parametrize(
    ("argument", "value"),
    [("anode_ohm", [1e5, 0.0]), ("cathode_ohm", [-1.0, 5.0]), ("supply_v", [math.nan]), ("emission", 0.0)],
)
def test_a_bad_sample_is_refused_by_name(argument, value):
    with pytest.raises(ElectricsError, match="every sample") as refusal:
        triode_stage_samples(**{**USUAL, argument: value})
    assert refusal.value.argument == argument
