"""Capacitors: markings, energy, discharge, ESR, reforming and the hazards that go with them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import (
    CapacitorMarking,
    ElectricsError,
    Marking,
    current_hazard,
    discharge,
    discharge_time,
    energy_hazard,
    esr,
    holding_volt,
    leakage_limit,
    marking,
    reform_leakage,
    reform_steps,
    stored_charge,
    stored_energy,
    tan_delta,
    vintage_leakage_limit,
)


@pytest.mark.parametrize(
    ("text", "farad", "tolerance"),
    [
        ("473K", 47e-9, 0.1), ("473k", 47e-9, 0.1), ("104", 100e-9, None), ("104M", 100e-9, 0.2), ("220", 22e-12, None),
        ("221", 220e-12, None), ("479J", 4.7e-12, 0.05), ("478", 0.47e-12, None), ("4p7", 4.7e-12, None),
        ("2n2J", 2.2e-9, 0.05), ("R47", 0.47e-12, None), ("2R2", 2.2e-12, None), ("p68", 0.68e-12, None),
        ("n47", 0.47e-9, None), ("µ47K", 0.47e-6, 0.1), ("u22", 0.22e-6, None), ("\u03bc22", 0.22e-6, None),
        ("4m7", 4.7e-3, None), (".047", 47e-9, None), ("0.047K", 47e-9, 0.1), ("0.1µF", 100e-9, None),
        ("220p", 220e-12, None), ("220n", 220e-9, None), ("220 nF", 220e-9, None), ("220P", 220e-12, None),
        ("470N", 470e-9, None), ("100nK", 100e-9, 0.1), ("100 nF K", 100e-9, 0.1), ("10", 10e-12, None),
        ("5", 5e-12, None), ("4700", 4.7e-9, None), ("22M", 22e-12, 0.2), ("20 mfd", 20e-6, None),
    ],
)  # fmt: skip
def test_reads_markings(text: str, farad: float, tolerance: float | None) -> None:
    mark = marking(text)
    assert mark.farad == farad
    assert mark.tolerance == tolerance
    assert isinstance(mark, Marking)
    assert isinstance(mark, CapacitorMarking)


def test_lopsided_tolerances_keep_both_sides() -> None:  # IEC 60062, from memory
    mark = marking("104Z")
    assert (mark.tolerance_low, mark.tolerance_high, mark.tolerance) == (-0.20, 0.80, 0.80)
    assert marking("473K").tolerance_low == -0.1


def test_letters_are_picofarads_below_ten() -> None:  # IEC 60062, from memory
    assert marking("4p7C").tolerance == pytest.approx(0.25 / 4.7)
    assert marking("100D").tolerance == 0.005  # 10 pF: per cent again


def test_printed_volts_are_kept() -> None:
    assert marking("473K 630V") == CapacitorMarking(47e-9, 0.1, -0.1, 0.1, 630.0)
    assert marking("473K630VDC").rated_v == 630.0
    assert marking("473K").rated_v is None


@pytest.mark.parametrize("text", ["", "  ", "4.7", "000", "xx", "104V", "4M7", "4k7", None, 473, "104K 0V", "-104"])
def test_unreadable_or_ambiguous_markings_are_refused(text: str) -> None:
    with pytest.raises(ElectricsError):
        marking(text)


@given(figures=st.integers(10, 99), power=st.integers(0, 7), letter=st.sampled_from("JKM"))
def test_the_code_is_two_figures_and_a_power_of_ten(figures: int, power: int, letter: str) -> None:
    assert marking(f"{figures}{power}{letter}").farad == pytest.approx(figures * 10.0**power * 1e-12, rel=1e-12)


def test_leakage_limits_by_grade() -> None:
    assert leakage_limit(47e-6, 450) == pytest.approx(211.5e-6)
    assert leakage_limit(47e-6, 450, grade="standard") == pytest.approx(426e-6)
    assert leakage_limit(47e-6, 450, grade="general") == pytest.approx(634.5e-6)
    assert leakage_limit(0.1e-6, 63) == pytest.approx(3e-6)
    for bad in ((0.0, 450.0), (47e-6, 0.0), (47e-6, math.nan)):
        with pytest.raises(ElectricsError):
            leakage_limit(*bad)
    with pytest.raises(ElectricsError, match="grade is"):
        leakage_limit(1e-6, 10, grade="best")


@given(farad=st.floats(1e-9, 1e-3), volt=st.floats(1, 600), more=st.floats(1, 10))
def test_a_larger_part_may_leak_no_less(farad: float, volt: float, more: float) -> None:
    assert leakage_limit(farad * more, volt) >= leakage_limit(farad, volt)
    assert leakage_limit(farad, volt * more) >= leakage_limit(farad, volt)
    assert leakage_limit(farad, volt) >= 3e-6


def test_the_vintage_rule_ends_at_450_volts() -> None:
    with pytest.raises(ElectricsError, match="450"):
        vintage_leakage_limit(20e-6, 451)


@given(farad=st.floats(1e-9, 1e-2), volt=st.floats(1, 1000))
def test_energy_and_the_volts_that_hold_it_are_inverse(farad: float, volt: float) -> None:
    assert holding_volt(stored_energy(farad, volt), farad) == pytest.approx(volt)
    assert stored_energy(farad, -volt) == stored_energy(farad, volt)


@given(from_v=st.floats(10, 1000), share=st.floats(0.001, 1), ohm=st.floats(10, 1e6), farad=st.floats(1e-7, 1e-3))
def test_discharge_follows_the_exponential(from_v: float, share: float, ohm: float, farad: float) -> None:
    seconds = discharge_time(from_v=from_v, to_v=from_v * share, ohm=ohm, farad=farad)
    assert from_v * math.exp(-seconds / (ohm * farad)) == pytest.approx(from_v * share)
    assert seconds >= 0.0


@pytest.mark.parametrize(
    "wrong", [{"from_v": 0.0}, {"to_v": 0.0}, {"to_v": 500.0}, {"ohm": -1.0}, {"farad": 0.0}, {"from_v": math.inf}]
)
def test_discharge_refuses_what_has_no_time(wrong: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        discharge_time(**{"from_v": 450.0, "to_v": 60.0, "ohm": 10e3, "farad": 100e-6, **wrong})


def test_a_discharged_part_takes_no_time() -> None:
    assert discharge_time(from_v=60, to_v=60, ohm=1e4, farad=1e-4) == 0.0


def test_the_resistor_takes_all_the_energy() -> None:
    burden = discharge(from_v=450, ohm=10e3, farad=100e-6)
    # Power decays as exp(-2t/tau): its integral is start watts times tau / 2.
    assert burden.start_w * burden.tau_s / 2 == pytest.approx(burden.joule)


@given(loss=st.floats(1e-6, 1), farad=st.floats(1e-9, 1e-3), hertz=st.floats(10, 1e5))
def test_esr_and_loss_factor_are_inverse(loss: float, farad: float, hertz: float) -> None:
    ohm = esr(tan_delta=loss, farad=farad, hertz=hertz)
    assert tan_delta(esr_ohm=ohm, farad=farad, hertz=hertz) == pytest.approx(loss)


@given(rated=st.floats(1, 1000), limit=st.floats(1e-4, 0.05), months=st.floats(0, 600))
def test_reforming_never_passes_its_current_and_ends_at_rated_volts(rated: float, limit: float, months: float) -> None:
    steps = reform_steps(rated, limit_a=limit, stored_months=months)
    volts = [step.volt for step in steps]
    assert volts == sorted(volts)
    assert volts[0] > 0
    assert volts[-1] == rated
    assert all(step.volt / step.series_ohm <= limit * (1 + 1e-12) for step in steps)
    assert all(step.short_a == pytest.approx(step.volt / step.series_ohm) for step in steps)  # Ohm's law, with the part shorted
    assert all(step.short_a <= limit and step.resistor_w == step.volt * step.short_a for step in steps)
    assert all(step.accept_v == pytest.approx(step.volt / 10) for step in steps)
    assert [step.minutes for step in steps[:-1]] == [5.0] * (len(steps) - 1)
    assert steps[-1].minutes == 5.0 + months


@pytest.mark.parametrize(
    ("rated", "limit"), [(0.0, 0.005), (-1.0, 0.005), (1001.0, 0.005), (450.0, 0.0), (450.0, 0.06), (450.0, math.nan)]
)
def test_reforming_out_of_range_is_refused(rated: float, limit: float) -> None:
    with pytest.raises(ElectricsError):
        reform_steps(rated, limit_a=limit)


def test_reform_leakage_is_ohms_law() -> None:
    assert reform_leakage(resistor_v=45.0, series_ohm=30e3) == pytest.approx(1.5e-3)
    with pytest.raises(ElectricsError):
        reform_leakage(resistor_v=45.0, series_ohm=0.0)


def test_cautions_come_with_any_charge_worth_measuring() -> None:
    assert energy_hazard(100e-6, 450).cautions
    assert any("never with a screwdriver" in caution for caution in energy_hazard(100e-6, 60).cautions)
    assert energy_hazard(1e-6, 9.99).cautions == ()
    assert energy_hazard(1e-6, 10.0).cautions
    assert energy_hazard(100e-6, -450).hazardous


@given(farad=st.floats(0, 1e-2), volt=st.floats(0, 1000), more=st.floats(1, 3))
def test_more_capacity_never_lifts_a_hazard(farad: float, volt: float, more: float) -> None:
    before = {(t.name, t.source) for t in energy_hazard(farad, volt).reached}
    after = {(t.name, t.source) for t in energy_hazard(farad * more, volt).reached}
    assert before <= after


def test_current_hazards() -> None:
    assert current_hazard(kind="dc", volt=100, ampere=0.04) is True
    assert current_hazard(kind="dc", volt=99.9, ampere=0.04) is False
    assert current_hazard(kind="dc", volt=-450, ampere=0.039) is False
    assert current_hazard(kind="ac", volt=50, ampere=0.005) is True
    with pytest.raises(ElectricsError, match="dc or ac"):
        current_hazard(kind="rf", volt=50, ampere=1.0)


@pytest.mark.parametrize("farad", [-1e-6, math.nan])
def test_a_negative_capacitor_stores_nothing(farad: float) -> None:
    for sum_ in (stored_energy, stored_charge):
        with pytest.raises(ElectricsError, match="farad is"):
            sum_(farad, 100.0)
