"""The bands of a circuit's nodes: against closed forms drawn independently, and against the stage worked alone."""

from __future__ import annotations

import math
import random
import time
from typing import Any

import numpy as np
import pytest

from app.electrics import Band, Circuit, ElectricsError, expected, solve, triode_stage_samples
from app.electrics.circuit.newton import settle
from app.electrics.circuit.system import build
from app.electrics.circuit.wander import directions, sensitivities
from tests.reference import nets

AMPLIFIER = {"resistor": 0.1, "volts": 0.1, "triode": 0.3, "pentode": 0.3}


def divider() -> Circuit:
    return Circuit().volts("B", "b", "0", 300.0).resistor("R1", "b", "m", 100e3).resistor("R2", "m", "0", 50e3)


def stage() -> Circuit:
    made = Circuit().volts("B", "hv", "0", 300.0).resistor("RA", "hv", "a", 100e3).resistor("RK", "k", "0", 1500.0)
    return made.resistor("RG", "g", "0", 1e6).triode("V1", "a", "g", "k", "12AX7")


def test_a_divider_is_the_closed_form_drawn_by_itself() -> None:
    band = expected(divider(), tolerances={"resistor": 0.1, "volts": 0.05}, samples=20_000, seed=1)["m"]
    drawn = np.random.default_rng(99).uniform(-1.0, 1.0, (200_000, 3))
    volts = 300.0 * (1 + 0.05 * drawn[:, 0]) / (1 + 2.0 * (1 + 0.1 * drawn[:, 1]) / (1 + 0.1 * drawn[:, 2]))
    low, high = np.percentile(volts, (2.5, 97.5))
    assert (band.low, band.nominal, band.high) == pytest.approx((low, 100.0, high), rel=3e-3)


def test_a_stage_is_the_stage_worked_alone() -> None:
    """Percentiles of the anode's volts from triode_stage_samples with its own draws."""
    band = expected(stage(), tolerances={"RA": 0.1, "RK": 0.1, "triode": 0.3}, samples=6000, seed=3)
    rng = np.random.default_rng(5)
    ra, rk, emission = 100e3 * rng.uniform(0.9, 1.1, 40_000), 1500.0 * rng.uniform(0.9, 1.1, 40_000), rng.uniform(0.7, 1.3, 40_000)
    alone = triode_stage_samples(valve="12AX7", supply_v=300.0, anode_ohm=ra, cathode_ohm=rk, emission=emission)
    low, high = np.percentile(alone.anode_v, (2.5, 97.5))
    assert band["a"].low == pytest.approx(low, abs=1.0) and band["a"].high == pytest.approx(high, abs=1.0)


def test_the_mains_moves_every_source_alike() -> None:
    """Between +100 V and -100 V through equal resistors stands nought, whatever the mains."""
    made = Circuit().volts("P", "p", "0", 100.0).volts("N", "0", "n", 100.0)
    made.resistor("R1", "p", "m", 1e3).resistor("R2", "m", "n", 1e3)
    alike = expected(made, tolerances={"volts": 0.1}, seed=1)
    assert alike["m"].high - alike["m"].low < 1e-6 and alike["p"].high == pytest.approx(109.5, abs=0.5)
    assert expected(made, tolerances={"mains": 0.1}, seed=1) == alike
    apart = expected(made, tolerances={"P": 0.1, "N": 0.1}, seed=1)
    assert apart["m"].high > 5.0


def test_a_name_goes_before_its_kind() -> None:
    fixed = expected(divider(), tolerances={"resistor": 0.2, "R1": 0.0, "R2": 0.0}, seed=1)["m"]
    assert fixed.low == pytest.approx(fixed.high)


def test_the_same_seed_gives_the_same_band_and_no_tolerance_gives_no_width() -> None:
    first, again, other = (expected(stage(), tolerances={"triode": 0.3}, samples=200, seed=seed) for seed in (4, 4, 5))
    assert first == again != other
    assert all(isinstance(band, Band) and band.low <= band.nominal <= band.high for band in first.values())
    point = solve(stage()).volt
    for node, band in expected(stage(), tolerances={}, samples=20, seed=1).items():
        assert (band.low, band.high) == (pytest.approx(point[node]), pytest.approx(point[node]))


@pytest.mark.parametrize("name", ["amplifier", "long-tail pair", "cathode bias", "resistors, sources, diodes"])
def test_sensitivities_are_those_of_a_small_change(name: str) -> None:
    """Every direction by a change of a ten-thousandth, solved anew."""
    made = nets.ALL_NETS[name](random.Random(3))
    system = build(made)
    along = directions(system, {"resistor": 0.1, "mains": 0.1, "triode": 0.3, "pentode": 0.3, "diode": 0.3, "amps": 0.1})
    x = settle(system, system.nominal)
    moves = sensitivities(system, system.nominal, x, along)[0]
    for number, one in enumerate(along):
        values = system.nominal.repeat(1)
        columns = getattr(values, one.field)
        for at in one.columns:
            columns[:, at] *= 1.0 / 1.0001 if one.field == "siemens" else 1.0001
        changed = (settle(system, values, x) - x)[0] / 1e-4
        assert changed == pytest.approx(moves[:, number], rel=2e-3, abs=2e-3 * float(np.abs(moves[:, number]).max()) + 1e-4)


def test_forty_nodes_and_two_thousand_samples_take_less_than_two_seconds() -> None:
    made = nets.amplifier(random.Random(7))
    expected(made, tolerances=AMPLIFIER, samples=20, seed=1)
    start = time.process_time()
    bands = expected(made, tolerances=AMPLIFIER, samples=2000, seed=1)
    assert len(bands) >= 35 and time.process_time() - start < 2.0


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"tolerances": {"R9": 0.1}}, "R9"),
        ({"tolerances": {"resistor": 1.5}}, r"tolerances\[resistor\]"),
        ({"tolerances": {"resistor": math.nan}}, r"tolerances\[resistor\]"),
        ({"tolerances": {"resistor": -0.1}}, r"tolerances\[resistor\]"),
        ({"tolerances": [0.1]}, "tolerances"),
        ({"samples": 1}, "samples"),
        ({"seed": -1}, "seed"),
        ({"circuit": None}, "circuit"),
    ],
)
def test_bad_input_is_refused_by_name(changed: dict[str, Any], named: str) -> None:
    given = {"circuit": divider(), "tolerances": {"resistor": 0.1}, "seed": 1, **changed}
    with pytest.raises(ElectricsError, match=named):
        expected(given.pop("circuit"), **given)
