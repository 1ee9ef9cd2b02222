"""Meter accuracy (JCGM 100; "Basics of Measurement Uncertainty" slides, 41) and loading (meter guides, seen)."""

from __future__ import annotations

import math

import pytest

from app.electrics import (
    board_leakage,
    loaded_reading,
    loading_error,
    meter_input_ohm,
    meter_uncertainty,
    product_uncertainty,
    unloaded,
)


@pytest.mark.parametrize(
    ("reading", "percent", "counts", "resolution", "u", "tolerance", "status"),
    [
        (2.000, 0.08, 2, 0.001, 2.08e-3, 5e-6, "seen source"),
        (400.0, 0.5, 3, 0.1, 1.328, 5e-4, "computed"),
        (0.350, 0.5, 3, 0.001, 2.74e-3, 5e-6, "computed"),
        (36.0e-3, 1.0, 3, 0.1e-3, 0.381e-3, 5e-7, "computed"),
    ],
)
def test_accuracy_statements(
    reading: float, percent: float, counts: int, resolution: float, u: float, tolerance: float, status: str
) -> None:
    expanded = meter_uncertainty(reading, percent=percent, counts=counts, resolution=resolution)
    assert expanded / 2 == pytest.approx(u, abs=tolerance), status


def test_limits_of_a_statement() -> None:  # seen source: 2.000 V ±(0.08 % + 2) is 1.9964 to 2.0036 V
    half_width = meter_uncertainty(2.0, percent=0.08, counts=2, resolution=0.001) * math.sqrt(3) / 2
    assert (2.0 - half_width, 2.0 + half_width) == pytest.approx((1.9964, 2.0036))


def test_four_hundred_volts_expanded() -> None:  # computed
    assert meter_uncertainty(400, percent=0.5, counts=3, resolution=0.1) == pytest.approx(2.66, abs=0.005)


def test_power_from_volts_and_a_drop() -> None:  # computed: 420.0 V (0.5 % + 3) and 40.0 mV across 1 ohm 1 %
    volts = (420.0, meter_uncertainty(420.0, percent=0.5, counts=3, resolution=0.1))
    drop = (0.0400, meter_uncertainty(0.0400, percent=0.5, counts=3, resolution=0.0001))
    resistor = (1.0, meter_uncertainty(1.0, percent=1.0))
    watt, expanded = product_uncertainty([volts, drop, resistor])
    assert watt == pytest.approx(16.80)
    assert expanded == pytest.approx(0.330, abs=0.001)
    assert expanded / 2 == pytest.approx(0.165, abs=0.001)


@pytest.mark.parametrize(
    ("source_ohm", "per_cent"), [(100e3, 0.990), (220e3, 2.153), (1e6, 9.09), (100e3 * 62.5e3 / 162.5e3, 0.383)]
)
def test_loading_of_ten_megohm(source_ohm: float, per_cent: float) -> None:  # formula seen, figures computed
    assert 100 * loading_error(source_ohm=source_ohm) == pytest.approx(per_cent, abs=0.002)
    assert loaded_reading(true_v=100.0, source_ohm=source_ohm) == pytest.approx(100 - per_cent, abs=0.002)


def test_true_volts_behind_a_megohm() -> None:  # computed
    assert unloaded(136.4, source_ohm=1e6) == pytest.approx(150.04, abs=0.005)
    assert loaded_reading(true_v=150.04, source_ohm=1e6) == pytest.approx(136.4, abs=0.005)


def test_an_ac_input_of_one_megohm_on_a_megohm_reads_half() -> None:  # input seen in a meter's sheet
    assert loaded_reading(true_v=10.0, source_ohm=1e6, meter_ohm=1e6) == 5.0


def test_input_resistance_from_a_divider() -> None:  # seen source: 10.088 V, two 3.33 M, reading 4.336 V, 10.2 M
    assert meter_input_ohm(true_v=10.088 / 2, reading_v=4.336, source_ohm=3.33e6 / 2) == pytest.approx(10.2e6, rel=2e-3)


def test_a_leaky_board_is_the_same_divider() -> None:  # computed
    assert board_leakage(source_v=150.04, meter_v=136.4) == pytest.approx(1.0e6, rel=1e-4)
    assert board_leakage(source_v=400, meter_v=4) == pytest.approx(990e6)
