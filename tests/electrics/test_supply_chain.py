"""The smoothing chain: whose current is whose, what its nodes are, and what is refused."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import LC, RC, ElectricsError, Supply, capacitor_input, filter_chain, reservoir_under


def supply(**load: float) -> Supply:
    return capacitor_input(
        secondary_vrms=325.0,
        rectifier="full_wave_ct",
        source_ohm=100.0,
        reservoir_farad=47e-6,
        mains_hz=50.0,
        **load,
    )


STAGES = (LC(10.0, 100.0, 47e-6, 0.02), RC(10e3, 22e-6, 0.004), RC(22e3, 22e-6, 0.002))


def test_no_stages_no_nodes() -> None:
    assert filter_chain(supply(load_a=0.1), ()) == ()
    assert filter_chain(supply(load_a=0.1), []) == ()


def test_series_parts_drop_all_the_current_after_them() -> None:
    nodes = filter_chain(supply(load_a=0.126), STAGES)
    assert [node.current_a for node in nodes] == pytest.approx([0.026, 0.006, 0.002])
    assert nodes[0].mean_v - nodes[1].mean_v == pytest.approx(0.006 * 10e3, rel=1e-6)
    assert nodes[1].mean_v - nodes[2].mean_v == pytest.approx(0.002 * 22e3, rel=1e-6)


def test_the_supply_load_includes_the_chain() -> None:
    """The same total drawn: the first node is the supply's own mean less the choke's drop."""
    whole = supply(load_a=0.126)
    nodes = filter_chain(whole, STAGES)
    assert nodes[0].mean_v == pytest.approx(whole.mean_v - 0.026 * 100.0, rel=5e-4)
    assert reservoir_under(whole, STAGES).mean_load_a == pytest.approx(0.126, rel=1e-9)


def test_a_resistive_load_includes_the_chain_too() -> None:
    whole = supply(load_ohm=3000.0)
    under = reservoir_under(whole, STAGES)
    assert under.mean_load_a == pytest.approx(whole.mean_load_a, rel=1e-3)
    assert under.mean_v == pytest.approx(whole.mean_v, rel=1e-3)


def test_added_currents_come_on_top() -> None:
    on_top = filter_chain(supply(load_a=0.1), STAGES, added=True)
    whole = filter_chain(supply(load_a=0.126), STAGES)
    for one, other in zip(on_top, whole, strict=True):
        assert one.mean_v == pytest.approx(other.mean_v, rel=1e-6)
    assert reservoir_under(supply(load_a=0.1), STAGES, added=True).mean_load_a == pytest.approx(0.126)


def test_a_chain_on_an_unloaded_supply_is_its_only_load() -> None:
    alone = filter_chain(supply(load_a=0.0), STAGES)
    stated = filter_chain(supply(load_a=0.026), STAGES)
    assert [node.mean_v for node in alone] == pytest.approx([node.mean_v for node in stated], rel=1e-6)


def test_a_chain_that_draws_more_than_the_stated_load_is_its_only_load() -> None:
    less = filter_chain(supply(load_a=0.01), STAGES)
    stated = filter_chain(supply(load_a=0.026), STAGES)
    assert [node.mean_v for node in less] == pytest.approx([node.mean_v for node in stated], rel=1e-6)


def test_energy_in_use_and_with_the_valves_out() -> None:
    whole = supply(load_a=0.126)
    for stage, node in zip(STAGES, filter_chain(whole, STAGES), strict=True):
        assert node.stored_j == pytest.approx(0.5 * stage.farad * node.mean_v**2)
        assert node.no_load_v == whole.no_load_v
        assert node.no_load_stored_j == pytest.approx(0.5 * stage.farad * whole.no_load_v**2)


@pytest.mark.parametrize("load_a", [0.0, 1e-9])
def test_nothing_drawn_leaves_every_node_at_the_reservoir(load_a: float) -> None:
    idle = supply(load_a=load_a)
    for node in filter_chain(idle, (LC(10.0, 100.0, 47e-6, 0.0), RC(10e3, 22e-6, 0.0))):
        assert node.mean_v == pytest.approx(idle.mean_v, rel=1e-6)
        assert node.ripple_vpp < 1e-6
        assert node.current_a == 0.0


def test_an_rc_section_of_the_handbook() -> None:
    """1/sqrt(1 + (w R C)^2): 10 kohm and 22 uF at 100 Hz, 0.007234; the harmonics fall faster."""
    whole = supply(load_a=0.1)
    node = filter_chain(whole, (RC(10e3, 22e-6, 0.0),))[0]
    ratio = node.ripple_vpp / reservoir_under(whole, (RC(10e3, 22e-6, 0.0),)).ripple_vpp
    fundamental = 1.0 / math.sqrt(1.0 + (2.0 * math.pi * 100.0 * 10e3 * 22e-6) ** 2)
    assert fundamental == pytest.approx(0.007234, abs=1e-6)
    assert 0.75 * fundamental < ratio < fundamental


@settings(derandomize=True, deadline=None, max_examples=25)
@given(
    ohm=st.floats(50.0, 20e3),
    farad=st.floats(8e-6, 100e-6),
    load_a=st.floats(0.0, 0.005),
    more=st.floats(1.2, 3.0),
)
def test_more_resistance_or_capacitance_less_ripple(ohm: float, farad: float, load_a: float, more: float) -> None:
    whole = supply(load_a=0.1)
    base = filter_chain(whole, (RC(ohm, farad, load_a),))[0]
    assert filter_chain(whole, (RC(ohm * more, farad, load_a),))[0].ripple_vpp < base.ripple_vpp
    assert filter_chain(whole, (RC(ohm, farad * more, load_a),))[0].ripple_vpp < base.ripple_vpp


def test_a_node_left_without_volts_is_refused_in_words() -> None:
    with pytest.raises(ElectricsError, match="leaves the node without volts"):
        filter_chain(supply(load_a=0.1), (RC(100e3, 10e-6, 0.01),))


@pytest.mark.parametrize(
    ("stage", "named"),
    [
        (RC(0.0, 1e-5, 0.0), "stages[0].ohm"),
        (RC(1e3, -1e-5, 0.0), "stages[0].farad"),
        (RC(1e3, 1e-5, -0.001), "stages[0].load_a"),
        (RC(1e3, 1e-5, math.nan), "stages[0].load_a"),
        (LC(0.0, 100.0, 1e-5, 0.0), "stages[0].henry"),
        (LC(10.0, -1.0, 1e-5, 0.0), "stages[0].dcr_ohm"),
        (LC(10.0, 1.0, 0.0, 0.0), "stages[0].farad"),
        ((10.0, 1.0), "stages[0]"),
    ],
)
def test_refuses_by_stage_and_name(stage: Any, named: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        filter_chain(supply(load_a=0.1), (stage,))
    assert refused.value.argument == named


def test_a_made_up_supply_is_refused() -> None:
    made_up = Supply(400.0, 20.0, 100.0, 460.0, 0.6, 0.18, 920.0)
    with pytest.raises(ElectricsError, match="a result of capacitor_input"):
        filter_chain(made_up, STAGES)


def test_a_choke_without_resistance_drops_nothing() -> None:
    whole = supply(load_a=0.1)
    stages = (LC(10.0, 0.0, 47e-6, 0.1),)
    node = filter_chain(whole, stages)[0]
    assert node.mean_v == pytest.approx(reservoir_under(whole, stages).mean_v, rel=1e-5)
