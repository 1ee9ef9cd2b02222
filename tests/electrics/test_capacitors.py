"""Capacitors: markings, energy, discharge, ESR, reforming and the hazards that go with them."""

from __future__ import annotations

import math
from dataclasses import replace

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
    voltage_code,
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


@pytest.mark.parametrize(("text", "farad", "volts"), [
    ("103M 1KV", 10e-9, 1000.0), ("3n3 1kV", 3.3e-9, 1000.0), ("474J 630", 470e-9, 630.0), ("2A104J", 100e-9, 100.0),
    ("104K 2E", None, None), ("2G 103K", 10e-9, 400.0), ("1H2n2", 2.2e-9, 50.0), ("473K 630V", 47e-9, 630.0),
    ("2J104J 630V", 100e-9, 630.0),
    ("0.1µF 400", 100e-9, 400.0), ("223 1.5kV", 22e-9, 1500.0),
])
def test_volts_are_read_as_they_are_printed(text: str, farad: float | None, volts: float | None) -> None:
    """With V or kV, bare after a space, or as an EIA code before the rest."""
    if farad is None:
        with pytest.raises(ElectricsError):
            marking(text)
        return
    found = marking(text)
    assert found.farad == pytest.approx(farad) and found.rated_v == volts


# EIA and JIS voltage codes as a public table prints them (seen): 0E 2.5 V to 3A 1000 V.
VOLT_CODES = {"0E": 2.5, "0G": 4, "0J": 6.3, "1A": 10, "1C": 16, "1D": 20, "1E": 25, "1V": 35, "1G": 40, "1H": 50, "1J": 63,
              "2A": 100, "2T": 150, "2D": 200, "2E": 250, "2F": 315, "2V": 350, "2G": 400, "2W": 450, "2J": 630, "2K": 800,
              "3A": 1000}


@pytest.mark.parametrize("code", VOLT_CODES)
def test_voltage_codes_are_those_of_the_tables(code: str) -> None:
    assert voltage_code(code) == pytest.approx(VOLT_CODES[code])
    assert voltage_code(code.lower()) == voltage_code(code)


@given(st.sampled_from(sorted(VOLT_CODES)), st.integers(10, 99), st.integers(0, 7), st.sampled_from("JKM"),
       st.sampled_from(("", " ")))
def test_a_code_adds_its_volts_and_nothing_else(code: str, figures: int, power: int, letter: str, gap: str) -> None:
    bare, coded = marking(f"{figures}{power}{letter}"), marking(f"{code}{gap}{figures}{power}{letter}")
    assert coded == replace(bare, rated_v=voltage_code(code))


@given(st.integers(10, 99), st.integers(1, 7), st.sampled_from("JKM"), st.integers(10, 99999),
       st.sampled_from(("", "V", " V", "v")))
def test_volts_behind_a_marking_need_no_v(figures: int, power: int, letter: str, volts: int, sign: str) -> None:
    found = marking(f"{figures}{power}{letter} {volts}{sign}")
    assert found.rated_v == volts and found.farad == pytest.approx(figures * 10.0**power * 1e-12)


def test_two_different_voltages_are_refused() -> None:
    with pytest.raises(ElectricsError, match="2A says 100 V"):
        marking("2A104J 630V")


@pytest.mark.parametrize(("text", "first", "second"), [
    ("047", 47e-12, 47e-9), ("022K", 22e-12, 22e-9), ("220", 22e-12, 220e-12), ("470J", 47e-12, 470e-12),
])
def test_a_marking_with_two_readings_tells_both(text: str, first: float, second: float) -> None:
    """IEC 60062 codes never begin with 0: the point of .047 may be gone. Plain pF in old print: common practice, no source."""
    found = marking(text)
    assert found.farad == pytest.approx(first) and found.other_farad == pytest.approx(second)


@pytest.mark.parametrize("text", ["473K", "104", "4p7", ".047", "0.1µF", "2A104J", "000"])
def test_a_marking_with_one_reading_tells_one(text: str) -> None:
    if text == "000":
        with pytest.raises(ElectricsError):
            marking(text)
    else:
        assert marking(text).other_farad is None


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


def test_reforming_is_accepted_at_the_parts_leakage_limit() -> None:
    """JAN-C-62 (seen): 20 µF at 250 V may leak 0.7 mA; through 60 k that is 42 V, more than the tenth that stays across it."""
    low = reform_steps(250.0, limit_a=0.005, farad=20e-6, grade="low")[-1]
    assert low.accept_a == pytest.approx(leakage_limit(20e-6, 250.0))
    assert low.accept_v == pytest.approx(low.accept_a * low.series_ohm)
    old = reform_steps(250.0, limit_a=0.015, farad=20e-6, grade="vintage")[-1]
    assert old.accept_a == pytest.approx(0.7e-3) and old.accept_v == pytest.approx(0.7e-3 * 250.0 / 0.015)
    slow = reform_steps(250.0, limit_a=0.001, farad=20e-6, grade="vintage")[-1]
    assert slow.accept_v == pytest.approx(25.0) and slow.accept_a < 0.7e-3


@given(st.floats(10.0, 1000.0), st.floats(1e-3, 0.05), st.floats(0.05, 5.0))
def test_reforming_never_heats_the_can_or_passes_its_current(rated: float, limit: float, watt: float) -> None:
    """The part at any volts u behind R: u (V - u) / R, at most V² / 4R; worked out here on a hundred volts."""
    for step in reform_steps(rated, limit_a=limit, farad=47e-6, can_w=watt):
        assert step.short_a <= limit * (1 + 1e-9)
        heats = [u / 100 * step.volt * (step.volt - u / 100 * step.volt) / step.series_ohm for u in range(101)]
        assert max(heats) <= watt * (1 + 1e-9) and step.can_w == pytest.approx(max(heats))


def test_reforming_caps_the_current_at_15_ma_unless_told() -> None:
    assert reform_steps(300.0)[-1].short_a == pytest.approx(0.015)


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
