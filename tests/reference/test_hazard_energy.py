"""Stored energy, discharge, ESR and reforming. Thresholds: a US national laboratory page (seen), NFPA 70E (memory)."""

from __future__ import annotations

import pytest

from app.electrics import (
    ENERGY_THRESHOLDS,
    ES1_CHARGE,
    SAFE_TOUCH_DC,
    SHOP_TOUCH_DC,
    ElectricsError,
    discharge,
    discharge_time,
    energy_hazard,
    esr,
    holding_volt,
    reform_leakage,
    reform_steps,
    stored_charge,
    stored_energy,
    worn,
)


def test_bleeder_of_220_kilohm() -> None:  # computed: 450 V, 100 µF
    case = {"from_v": 450.0, "ohm": 220e3, "farad": 100e-6}
    assert discharge(**case).tau_s == pytest.approx(22.0)
    assert discharge(**case).start_a == pytest.approx(2.05e-3, abs=5e-6)
    assert discharge(**case).start_w == pytest.approx(0.92, abs=0.001)
    for to_v, seconds in ((60.0, 44.3), (50.0, 48.3), (10.0, 83.7)):
        assert discharge_time(to_v=to_v, **case) == pytest.approx(seconds, abs=0.05)


def test_discharge_stick_of_10_kilohm() -> None:  # computed: 450 V, 100 µF
    case = {"from_v": 450.0, "ohm": 10e3, "farad": 100e-6}
    assert discharge_time(to_v=60.0, **case) == pytest.approx(2.015, abs=5e-4)
    burden = discharge(**case)
    assert (burden.start_a, burden.start_w, burden.joule) == pytest.approx((45e-3, 20.25, 10.125))


@pytest.mark.parametrize(("joule", "volt"), [(0.25, 70.7), (1, 141.4), (10, 447.2)])
def test_volts_that_hold_an_energy_in_100_microfarad(joule: float, volt: float) -> None:  # computed
    assert holding_volt(joule, 100e-6) == pytest.approx(volt, abs=0.05)


LABORATORY, CODE = "national laboratory", "NFPA 70E"


@pytest.mark.parametrize(
    ("farad", "volt", "joule", "above"),
    [(100e-6, 450, 10.125, {LABORATORY, CODE}), (47e-6, 450, 4.76, {CODE}), (100e-6, 60, 0.18, set())],
)
def test_which_thresholds_a_capacitor_reaches(farad: float, volt: float, joule: float, above: set[str]) -> None:
    # Energies computed; laboratory figure seen, code from memory.
    hazard = energy_hazard(farad, volt)
    assert hazard.joule == stored_energy(farad, volt) == pytest.approx(joule, abs=0.005)
    reached = {name for name in (LABORATORY, CODE) if any(name in limit.source for limit in hazard.reached)}
    assert reached == above
    assert hazard.cautions


@pytest.mark.parametrize(
    ("joule", "volt", "count"),
    [
        (10.0, 100.0, 2), (9.999, 100.0, 1), (1.0, 100.0, 0), (1.001, 100.0, 1), (1.001, 99.9, 0),  # shock
        (0.25, 400.0, 0), (0.2501, 400.0, 1), (0.2501, 399.9, 0), (12.0, 400.0, 3),
        (100.0, 99.0, 0), (100.1, 99.0, 2), (100.1, 100.0, 2),  # heat below 100 V, shock from there
    ],
)  # fmt: skip
def test_the_edges_of_the_thresholds(joule: float, volt: float, count: int) -> None:  # seen and from memory
    assert sum(limit.reached(joule, volt) for limit in ENERGY_THRESHOLDS) == count


def test_a_mains_filter_capacitor() -> None:  # computed: 0.1 µF at 325 V; 45 µC from memory
    assert stored_energy(0.1e-6, 325) == pytest.approx(5.3e-3, abs=5e-5)
    assert stored_charge(0.1e-6, 325) == pytest.approx(32.5e-6)
    assert stored_charge(0.1e-6, 325) < ES1_CHARGE
    assert ES1_CHARGE.unconfirmed


def test_touch_targets() -> None:  # 60 V from memory of ES1, 10 V common practice, no source
    assert (SAFE_TOUCH_DC, SHOP_TOUCH_DC) == (60.0, 10.0)
    assert SHOP_TOUCH_DC.source == "common practice, no source"


@pytest.mark.parametrize(
    ("microfarad", "loss", "hertz", "ohm"), [(47, 0.15, 100, 5.08), (100, 0.20, 120, 2.65), (22, 0.25, 100, 18.1)]
)
def test_esr_from_the_loss_factor(microfarad: float, loss: float, hertz: float, ohm: float) -> None:  # computed
    assert esr(tan_delta=loss, farad=microfarad * 1e-6, hertz=hertz) == pytest.approx(ohm, rel=2e-3)


def test_reforming_practice() -> None:
    # Seen in practice notes: 90 to 100 k with a short current of 5 mA at most; 5 minutes and one a month stored.
    steps = reform_steps(450, limit_a=5e-3, stored_months=24)
    assert steps[-1].series_ohm == pytest.approx(90e3)
    assert steps[-1].minutes == 29.0
    assert steps[-1].accept_v == pytest.approx(45.0)
    # Computed: 10 % of 450 V across 30 k is 1.5 mA.
    assert reform_leakage(resistor_v=0.1 * 450, series_ohm=30e3) == pytest.approx(1.5e-3)
    # Seen: 20 to 50 k is the usual resistor, so a short passes 9 to 22.5 mA at 450 V.
    assert reform_steps(450, limit_a=15e-3)[-1].series_ohm == pytest.approx(30e3)


GOOD = {"nominal_farad": 47e-6, "farad": 47e-6, "loss_limit": 0.15, "loss": 0.15, "leakage_limit_a": 211.5e-6,
        "leakage_a": 100e-6}  # fmt: skip


@pytest.mark.parametrize(
    ("measured", "past"),
    [
        ({}, ()),
        ({"farad": 47e-6 * 0.85, "loss": 0.195, "leakage_a": 211.5e-6}, ()),  # on every criterion
        ({"farad": 47e-6 * 1.15}, ()),
        ({"farad": 47e-6 * 0.849}, ("capacitance",)),
        ({"farad": 47e-6 * 1.151}, ("capacitance",)),
        ({"loss": 0.196}, ("loss",)),
        ({"leakage_a": 212e-6}, ("leakage",)),
        ({"leakage_a": 423e-6, "after": "storage"}, ()),
        ({"leakage_a": 424e-6, "after": "storage"}, ("leakage",)),
        ({"farad": 0.0, "loss": 1.0, "leakage_a": 1.0}, ("capacitance", "loss", "leakage")),
    ],
)
def test_end_of_test_criteria(measured: dict[str, float], past: tuple[str, ...]) -> None:
    # Seen: data sheet 28325 p. 11, IEC 60384-4 endurance; 15 %, 1.3 times, the limit, twice it after storage.
    assert worn(**{**GOOD, **measured}) == past  # type: ignore[arg-type]


@pytest.mark.parametrize("wrong", [{"nominal_farad": 0.0}, {"farad": -1e-6}, {"loss": -0.1}, {"after": "lunch"}])
def test_parts_that_cannot_be_judged(wrong: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        worn(**{**GOOD, **wrong})  # type: ignore[arg-type]
