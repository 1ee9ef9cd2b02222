"""A chain of capacitors under one stick: against one capacitor's logarithm, charge and energy, and its limits.

The laws used as references (RC discharge, conservation of charge and energy) are those of any textbook.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import ChainDischarge, Discharge, ElectricsError, chain_left, discharge_chain, discharge_time, stored_energy

CHAIN: dict[str, Any] = {
    "farads": [47e-6, 47e-6, 22e-6, 22e-6],
    "between_ohm": [1e3, 22e3, 47e3],
    "from_v": 450.0,
    "to_v": 10.0,
    "stick_ohm": 10e3,
}


def chain(**changed: Any) -> ChainDischarge:
    return discharge_chain(**{**CHAIN, **changed})


def test_one_capacitor_is_the_logarithm() -> None:
    """450 V on 100 uF through 10 k: 2.015 s to 60 V, 45 mA, 20.25 W, 10.125 J (worked values, computed elsewhere)."""
    found = chain(farads=[100e-6], between_ohm=[], to_v=60.0)
    assert found.seconds == pytest.approx(discharge_time(from_v=450, to_v=60, ohm=10e3, farad=100e-6), rel=1e-9)
    assert found.seconds == pytest.approx(2.015, abs=0.001)
    assert (found.stick_peak_a, found.stick_peak_w) == (pytest.approx(0.045), pytest.approx(20.25))
    assert found.stick_joule == pytest.approx(10.125)
    assert found.node_v == (pytest.approx(60.0),)


def test_the_far_node_still_holds_42_volts_when_the_first_reads_10() -> None:
    found = chain()
    assert found.node_v[0] == pytest.approx(10.0)
    assert found.node_v[3] == pytest.approx(42.0, abs=0.5)
    assert list(found.node_v) == sorted(found.node_v)
    assert found.all_seconds == max(found.node_seconds) == found.node_seconds[3] > found.seconds == found.node_seconds[0]
    charge = sum(farad * volt for farad, volt in zip(CHAIN["farads"], found.node_v, strict=True))
    assert found.rebound_v == pytest.approx(charge / sum(CHAIN["farads"]))
    assert found.rebound_v > CHAIN["to_v"]


def test_a_stick_of_10_ohm_is_not_fit_for_450_volts_and_one_of_10_kohm_is() -> None:
    short, right = chain(stick_ohm=10.0), chain()
    assert short.stick_peak_a == pytest.approx(45.0)
    assert short.stick_peak_w == pytest.approx(20250.0)
    assert not short.stick_fit and short.limits[0].verdict == "above" and "spark" in short.limits[0].note
    assert right.stick_fit and right.limits[0].verdict == "within"


def test_the_watts_are_judged_where_the_rating_is_given() -> None:
    """5 times the rated watts for 5 s, as a wire-wound resistor's sheet has it."""
    assert [one.unit for one in chain().limits] == ["A"]
    big = {"farads": [2200e-6], "between_ohm": [], "stick_ohm": 1e3}
    weak, strong = chain(**big, stick_rated_w=2.0), chain(**big, stick_rated_w=25.0)
    # 5 s are 2.27 time constants: 1 - exp(-2 * 2.27) of the energy is in the stick by then.
    wanted = stored_energy(2200e-6, 450.0) * (1.0 - math.exp(-2.0 * 5.0 / 2.2)) / 5.0
    assert weak.stick_mean_w == pytest.approx(wanted) == pytest.approx(weak.limits[1].found)
    assert (weak.stick_fit, strong.stick_fit) == (False, True)


def test_all_of_the_energy_less_what_the_droppers_take_ends_in_the_stick() -> None:
    alone = chain(between_ohm=[1e-3, 1e-3, 1e-3])
    total = sum(stored_energy(farad, 450.0) for farad in CHAIN["farads"])
    assert alone.stick_joule == pytest.approx(total, rel=1e-6)
    assert chain().stick_joule < 0.9 * total


def test_the_stick_may_stand_on_any_node() -> None:
    far = chain(at=3)
    assert far.node_v[3] == pytest.approx(10.0)
    mirrored = chain(farads=CHAIN["farads"][::-1], between_ohm=CHAIN["between_ohm"][::-1])
    assert far.node_seconds == pytest.approx(mirrored.node_seconds[::-1], rel=1e-9)


def test_each_capacitor_may_start_at_its_own_volts() -> None:
    found = chain(from_v=[450.0, 450.0, 0.0, 450.0])
    assert found.node_v[2] > 0.0  # its neighbours fill it
    assert found.stick_peak_a == pytest.approx(0.045)
    assert chain(from_v=[450.0] * 4) == chain()


def test_a_node_filled_again_by_its_neighbour_counts_until_it_stays_below() -> None:
    """The stick's own node is empty, the next is full: the first rises above 10 V before it falls for good."""
    found = chain(farads=[1e-6, 100e-6], between_ohm=[1e3], from_v=[0.0, 450.0])
    assert found.seconds > 1.0
    assert found.node_v[0] == pytest.approx(10.0)


def test_already_there_takes_no_time() -> None:
    found = chain(from_v=10.0)
    assert found.seconds == 0.0 and found.node_v == pytest.approx((10.0,) * 4)


def test_the_result_is_a_discharge() -> None:
    assert isinstance(chain(), Discharge)


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"farads": []}, "farads"),
        ({"farads": 47e-6}, "farads"),
        ({"farads": [47e-6, 0.0, 22e-6, 22e-6]}, "farads[1]"),
        ({"between_ohm": [1e3]}, "between_ohm"),
        ({"between_ohm": [1e3, math.nan, 1e3]}, "between_ohm[1]"),
        ({"between_ohm": [1e3, -1.0, 1e3]}, "between_ohm[1]"),
        ({"stick_ohm": 0.0}, "stick_ohm"),
        ({"to_v": 0.0}, "to_v"),
        ({"to_v": 451.0}, "to_v"),
        ({"from_v": math.inf}, "from_v"),
        ({"from_v": [450.0]}, "from_v"),
        ({"from_v": "450"}, "from_v[0]"),
        ({"from_v": None}, "from_v"),
        ({"farads": np.array(47e-6)}, "farads"),
        ({"at": 4}, "at"),
        ({"at": -1}, "at"),
        ({"stick_rated_w": 0.0}, "stick_rated_w"),
    ],
)
def test_bad_input_is_refused_by_name(changed: dict[str, Any], argument: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        chain(**changed)
    assert refused.value.argument == argument


PARTS = st.lists(st.tuples(st.floats(1e-9, 1e-2), st.floats(1.0, 1e6)), min_size=1, max_size=6)


@given(parts=PARTS, stick=st.floats(10.0, 1e6), data=st.data())
@settings(max_examples=60, deadline=None)
def test_every_node_is_at_the_limit_when_said(parts: list[tuple[float, float]], stick: float, data: st.DataObject) -> None:
    """From equal volts no node is below the stick's own, and the stick takes no more than was stored."""
    at = data.draw(st.integers(0, len(parts) - 1))
    farads = [farad for farad, _ in parts]
    between = [ohm for _, ohm in parts[1:]]
    found = discharge_chain(farads=farads, between_ohm=between, from_v=400.0, to_v=50.0, stick_ohm=stick, at=at)
    assert found.node_v[at] == pytest.approx(50.0, rel=1e-6)
    assert min(found.node_v) >= 50.0 * (1 - 1e-6) and max(found.node_v) <= 400.0 * (1 + 1e-9)
    assert min(found.node_seconds) == pytest.approx(found.seconds, rel=1e-6)
    assert found.stick_joule <= sum(stored_energy(farad, 400.0) for farad in farads) * (1 + 1e-9)


def left(**changed: Any) -> tuple[float, ...]:
    return chain_left(**{name: value for name, value in CHAIN.items() if name != "to_v"} | changed)


def test_what_is_left_at_a_time_is_the_exponential_of_one_capacitor() -> None:
    """450 V exp(-t/RC) with R C = 1 s (textbook law): 165.55 V after 1 s, all of it at the start."""
    one = {"farads": [100e-6], "between_ohm": [], "stick_ohm": 10e3}
    assert left(**one, seconds=1.0) == (pytest.approx(450.0 * math.exp(-1.0)),)
    assert left(**one, seconds=0.0) == (pytest.approx(450.0),)


def test_what_is_left_when_the_first_is_at_the_limit_is_what_the_chain_says() -> None:
    found = chain()
    assert left(seconds=found.seconds) == pytest.approx(found.node_v, rel=1e-6)
    assert left(seconds=found.seconds)[3] == pytest.approx(42.0, abs=0.5)
    assert max(left(seconds=found.all_seconds)) == pytest.approx(CHAIN["to_v"], rel=1e-6)


@pytest.mark.parametrize(("changed", "argument"), [({"seconds": -1.0}, "seconds"), ({"seconds": math.nan}, "seconds"),
                                                   ({"farads": []}, "farads"), ({"between_ohm": [1e3]}, "between_ohm")])
def test_a_time_or_a_chain_that_cannot_be_is_refused(changed: dict[str, Any], argument: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        left(**{"seconds": 1.0, **changed})
    assert refused.value.argument == argument
