"""Safety limits by regime. Sources beside each row; limits from memory stay unconfirmed and must say so."""

from __future__ import annotations

import pytest

from app.electrics import (
    bond_drop,
    bond_limit,
    bond_profile,
    conductor_ohm,
    earth_leakage_limit,
    equivalent_ohm,
    insulation_limit,
    judge,
    touch_current_limit,
)


@pytest.mark.parametrize(
    ("metre", "ohm"), [(3, 0.3), (5, 0.3), (10, 0.4), (12.5, 0.4), (13, 0.5), (20, 0.5), (20.1, 0.6)]
)
def test_vde_by_length(metre: float, ohm: float) -> None:
    # VDE 0701-0702:2008, table seen in an M501C tester manual, sect. 21.4; the rounding is from memory.
    limit = bond_limit(profile="vde_0701_0702", lead_metre=metre, mm2=1.0)
    assert limit == ohm
    assert limit.status == "S"


def test_vde_ends_at_one_ohm() -> None:  # seen source, the same table
    assert bond_limit(profile="vde_0701_0702", lead_metre=57.5, mm2=1.5) == 1.0
    assert bond_limit(profile="vde_0701_0702", lead_metre=100, mm2=1.5) == 1.0


def test_en_50678_keeps_three_tenths_for_a_usual_lead() -> None:  # seen: 1.5 mm², 3 m is 300 mΩ
    assert bond_limit(profile="en_50678", lead_metre=3, mm2=1.5) == 0.3
    assert bond_limit(profile="en_50699", lead_metre=3, mm2=1.5) == 0.3


def test_en_50678_computes_larger_sections_down_to_a_tenth() -> None:  # smallest limit seen, form from memory
    limit = bond_limit(profile="en_50678", lead_metre=3, mm2=2.5)
    assert limit == pytest.approx(0.1 + 3 * 7.98e-3)
    assert limit.unconfirmed


def test_iet_adds_the_lead() -> None:  # seen: three public testing pages; 3 m of 1 mm² class 5 computed
    limit = bond_limit(profile="iet", lead_metre=3, mm2=1.0)
    assert limit == pytest.approx(0.1585, abs=5e-4)
    assert limit == pytest.approx(0.1 + conductor_ohm(mm2=1.0, metre=3))
    assert limit.status == "S"


@pytest.mark.parametrize(("profile", "verdict"), [("vde_0701_0702", "pass"), ("iet", "fail"), ("as_nzs_3760", "pass")])
def test_one_reading_three_verdicts(profile: str, verdict: str) -> None:  # computed from the three rules
    limit = bond_limit(profile=profile, lead_metre=3, mm2=1.0)
    assert judge(0.25, upper=limit).verdict == verdict
    assert judge(0.25, upper=limit).unconfirmed is (profile == "as_nzs_3760")


@pytest.mark.parametrize("profile", ["iec_60065", "iec_62368_1", "iec_61010_1", "ul"])
def test_product_standards_measure_without_the_cord(profile: str) -> None:  # 0.1 ohm, all from memory
    limit = bond_limit(profile=profile, lead_metre=3, mm2=1.0)
    assert (limit, limit.status) == (0.1, "M")
    assert bond_profile(profile).regime


@pytest.mark.parametrize(("ampere", "volt"), [(0.2, 0.024), (10, 1.2), (25, 3.0)])
def test_drop_across_the_bond(ampere: float, volt: float) -> None:  # computed
    assert bond_drop(ohm=0.12, ampere=ampere) == pytest.approx(volt, rel=1e-12)


@pytest.mark.parametrize(("profile", "verdict"), [("vde_0701_0702", "fail"), ("iet", "fail"), ("as_nzs_3760", "pass")])
def test_class_two_insulation_of_one_and_a_half_megohm(profile: str, verdict: str) -> None:
    # VDE and IET 2 MΩ seen; AS/NZS 3760:2010 1 MΩ seen on a training page.
    assert judge(1.5e6, lower=insulation_limit(profile=profile, protection="II")).verdict == verdict


def test_touch_current_of_american_products() -> None:  # seen: UL 8750 8.7.1, UL 1711 39.1 quoted
    two_wire = touch_current_limit(profile="ul", protection="2-wire")
    fixed = touch_current_limit(profile="ul", protection="3-wire stationary")
    assert judge(0.6e-3, upper=two_wire).verdict == "fail"
    assert judge(0.6e-3, upper=fixed).verdict == "pass"
    assert (two_wire.status, fixed.status) == ("S", "S")


@pytest.mark.parametrize(("milliamp", "kilohm"), [(0.5, 460.0), (3.5, 65.7)])
def test_equivalent_resistance_of_a_leak(milliamp: float, kilohm: float) -> None:  # computed
    assert equivalent_ohm(volt=230, ampere=milliamp * 1e-3) == pytest.approx(kilohm * 1e3, rel=1e-3)


def test_leakage_by_regime() -> None:
    vde = earth_leakage_limit(profile="vde", protection="I")
    assert (vde, vde.status) == (3.5e-3, "S")  # seen: three tester documents
    portable = earth_leakage_limit(profile="iet", protection="I portable")
    assert (portable, portable.status) == (0.75e-3, "S")  # seen: three public testing pages
    class_two = touch_current_limit(profile="iet", protection="II")
    assert (class_two, class_two.status) == (0.25e-3, "S")  # seen: the same
    australian = earth_leakage_limit(profile="as_nzs_3760")
    assert (australian, australian.status) == (5e-3, "M")  # from memory: never a verdict before it is confirmed
