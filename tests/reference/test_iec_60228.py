"""Conductors: IEC 60228 greatest resistance at 20 °C (three public cable tables agree), wire gauges of ASTM B258."""

from __future__ import annotations

import pytest

from app.electrics import awg_mm2, awg_ohm, conductor_ohm, temperature_factor

# mm2: ohm/km of class 1/2, class 5/6, tinned class 5/6; seen source.
SEEN = {
    0.5: (36.0, 39.0, 40.1),
    0.75: (24.5, 26.0, 26.7),
    1.0: (18.1, 19.5, 20.0),
    1.5: (12.1, 13.3, 13.7),
    2.5: (7.41, 7.98, 8.21),
    4.0: (4.61, 4.95, 5.09),
}


@pytest.mark.parametrize("mm2", list(SEEN))
def test_a_kilometre_of_every_class(mm2: float) -> None:
    solid, flexible, tinned = SEEN[mm2]
    for conductor_class in (1, 2):
        assert conductor_ohm(mm2=mm2, metre=1000, conductor_class=conductor_class) == pytest.approx(solid)
    for conductor_class in (5, 6):
        assert conductor_ohm(mm2=mm2, metre=1000, conductor_class=conductor_class) == pytest.approx(flexible)
        assert conductor_ohm(mm2=mm2, metre=1000, conductor_class=conductor_class, tinned=True) == pytest.approx(tinned)


@pytest.mark.parametrize(("mm2", "ohm_per_km"), [(6.0, 3.30), (10.0, 1.91), (16.0, 1.21)])
def test_larger_flexible_sections(mm2: float, ohm_per_km: float) -> None:  # from memory
    assert conductor_ohm(mm2=mm2, metre=1000) == pytest.approx(ohm_per_km)


@pytest.mark.parametrize(("metre", "mm2", "ohm"), [(3, 0.75, 0.0780), (5, 1.0, 0.0975), (10, 1.5, 0.133)])
def test_leads(metre: float, mm2: float, ohm: float) -> None:  # computed
    assert conductor_ohm(mm2=mm2, metre=metre) == pytest.approx(ohm, abs=1e-9)


@pytest.mark.parametrize(
    ("celsius", "correction", "seen"),
    [(5, 1.063, 1.064), (10, 1.041, 1.042), (15, 1.020, 1.020), (25, 0.981, 0.980), (30, 0.962, 0.962),
     (40, 0.927, 0.926)],
)  # fmt: skip
def test_corrections_to_twenty_degrees(celsius: float, correction: float, seen: float) -> None:
    assert 1 / temperature_factor(celsius) == pytest.approx(correction, abs=0.0006)  # computed
    assert 1 / temperature_factor(celsius) == pytest.approx(seen, abs=0.002)  # seen source, a cable table


def test_twenty_degrees_changes_nothing() -> None:
    assert temperature_factor(20) == 1.0


@pytest.mark.parametrize(
    ("awg", "mm2", "ohm_per_km", "ohm_per_1000_ft"),
    [(14, 2.081, 8.28, 2.525), (16, 1.309, 13.17, 4.016), (18, 0.823, 20.95, 6.385), (20, 0.518, 33.3, 10.15),
     (22, 0.326, 52.95, 16.14)],
)  # fmt: skip
def test_wire_gauges(awg: int, mm2: float, ohm_per_km: float, ohm_per_1000_ft: float) -> None:
    assert awg_mm2(awg) == pytest.approx(mm2, abs=0.0006)  # computed
    assert awg_ohm(awg=awg, metre=1000) == pytest.approx(ohm_per_km, rel=2e-3)  # seen: hyperphysics wire table
    assert awg_ohm(awg=awg, metre=304.8) == pytest.approx(ohm_per_1000_ft, rel=2e-3)  # seen: the same


def test_six_feet_of_eighteen_gauge() -> None:  # computed
    assert awg_ohm(awg=18, metre=6 * 0.3048) == pytest.approx(0.0383, abs=5e-5)
