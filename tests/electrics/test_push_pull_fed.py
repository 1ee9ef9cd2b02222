"""A pair through its feeds: the volts are those that its own currents leave, and nothing in the feeds makes it the stiff pair."""

from __future__ import annotations

from typing import Any

import pytest

from app.electrics import ElectricsError, cathode_bias, push_pull, push_pull_fed

STIFF: dict[str, Any] = {"valve": "EL34", "supply_v": 425.0, "screen_v": 400.0, "bias_v": -36.0, "load_aa_ohm": 3400.0}
SELF: dict[str, Any] = {"valve": "EL84", "supply_v": 310.0, "screen_v": 300.0, "cathode_ohm": 130.0, "load_aa_ohm": 8000.0}


def test_without_any_resistance_it_is_the_stiff_pair() -> None:
    found = push_pull_fed(**STIFF)
    assert found.full == push_pull(**STIFF)
    assert (found.cathode_v, found.screen_resistor_w, found.cathode_resistor_w) == (0.0, 0.0, 0.0)


def test_at_rest_it_is_the_pair_on_its_cathode_resistor() -> None:
    rest, alone = push_pull_fed(**SELF).rest, cathode_bias(valve="EL84", supply_v=310.0, screen_v=300.0, cathode_ohm=130.0)
    assert rest.cathode_v == pytest.approx(alone.cathode_v, rel=1e-5)
    assert rest.anode_dissipation_w == pytest.approx(alone.anode_dissipation_w, rel=1e-5)


def test_the_volts_are_what_the_currents_leave() -> None:
    """Kirchhoff round each feed, with the mean currents that the result itself tells."""
    found = push_pull_fed(**SELF, screen_ohm=1000.0, supply_ohm=150.0)
    anodes, screens = found.full.mean_supply_a, found.full.mean_screen_a
    cathode = 130.0 * (anodes + screens)
    sag = 150.0 * (anodes + screens - 2 * found.rest.cathode_a)
    assert found.cathode_v == pytest.approx(cathode, rel=0.01) and found.bias_v == pytest.approx(-cathode, rel=0.01)
    assert found.anode_v == pytest.approx(310.0 - sag - cathode, rel=0.005)
    assert found.screen_v == pytest.approx(300.0 - sag - 1000.0 * screens - cathode, rel=0.005)
    assert found.screen_resistor_w == pytest.approx(1000.0 * screens**2, rel=0.03)
    assert found.cathode_resistor_w == pytest.approx(cathode**2 / 130.0, rel=0.02)


@pytest.mark.parametrize("feed", ["screen_ohm", "supply_ohm"])
def test_each_resistance_costs_power(feed: str) -> None:
    powers = [push_pull_fed(**STIFF, **{feed: ohm}).full.power_w for ohm in (0.0, 100.0, 300.0)]
    assert powers == sorted(powers, reverse=True) and powers[2] < 0.98 * powers[0]


@pytest.mark.parametrize("valve", ["EL84", "EL34", "6L6GC", "6V6GT", "KT88", "6550"])
@pytest.mark.parametrize("ohm", [1.0, 30.0, 3000.0, 1e5])
def test_any_feed_settles(valve: str, ohm: float) -> None:
    found = push_pull_fed(valve=valve, supply_v=400.0, screen_v=350.0, cathode_ohm=ohm, screen_ohm=ohm, supply_ohm=ohm / 10,
                          load_aa_ohm=5000.0)
    assert 0.0 <= found.full.power_w < 400.0 and found.anode_v > 0.0


@pytest.mark.parametrize(("wrong", "blamed"), [
    ({"cathode_ohm": 100.0}, "bias_v"), ({"bias_v": None}, "bias_v"), ({"bias_v": 0.0}, "bias_v"),
    ({"screen_ohm": -1.0}, "screen_ohm"), ({"supply_ohm": float("nan")}, "supply_ohm"), ({"load_aa_ohm": 0.0}, "load_aa_ohm"),
    ({"bias_v": None, "cathode_ohm": 0.0}, "cathode_ohm"),
])
def test_what_makes_no_pair_is_refused_by_name(wrong: dict[str, Any], blamed: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        push_pull_fed(**{**STIFF, **wrong})
    assert refused.value.argument == blamed
