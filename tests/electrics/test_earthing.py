"""Earth bonds, leakage paths, meter loading and fuses: ranges, inverses and monotonicity."""

from __future__ import annotations

import copy
import math
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import (
    BOND_PROFILES,
    PREFERRED_A,
    REGIME_LIMITS,
    ElectricsError,
    awg_mm2,
    awg_ohm,
    board_leakage,
    bond_drop,
    bond_limit,
    bond_profile,
    conductor_ohm,
    earth_leakage_limit,
    equivalent_ohm,
    insulation_limit,
    loaded_reading,
    loading_error,
    melting_time,
    meter_input_ohm,
    preferred_fuse,
    profile_id,
    temperature_factor,
    touch_current_limit,
    unloaded,
)

SECTIONS = [0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0]


@given(metre=st.floats(0, 100), more=st.floats(0, 50), celsius=st.floats(-40, 100), hotter=st.floats(0, 50))
def test_longer_hotter_thinner_is_never_less_ohms(metre: float, more: float, celsius: float, hotter: float) -> None:
    base = conductor_ohm(mm2=1.0, metre=metre, celsius=celsius)
    assert conductor_ohm(mm2=1.0, metre=metre + more, celsius=celsius) >= base
    assert conductor_ohm(mm2=1.0, metre=metre, celsius=celsius + hotter) >= base
    assert conductor_ohm(mm2=0.75, metre=metre, celsius=celsius) >= base
    assert conductor_ohm(mm2=1.0, metre=metre, celsius=celsius, tinned=True) >= base
    assert conductor_ohm(mm2=1.0, metre=metre, celsius=celsius, conductor_class=1) <= base


@pytest.mark.parametrize(
    "wrong",
    [{"mm2": 0.8}, {"mm2": 0.0}, {"mm2": -1.0}, {"metre": -1.0}, {"metre": math.nan}, {"celsius": 200.0},
     {"conductor_class": 3}, {"conductor_class": 2, "tinned": True}],
)  # fmt: skip
def test_conductors_that_do_not_exist_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        conductor_ohm(**{"mm2": 1.0, "metre": 3.0, **wrong})  # type: ignore[arg-type]


@given(
    profile=st.sampled_from([profile.id for profile in BOND_PROFILES]),
    metre=st.floats(0, 99), more=st.floats(0, 1), mm2=st.sampled_from([0.75, 1.0, 1.5]),
)  # fmt: skip
def test_a_longer_lead_never_tightens_a_bond_limit(profile: str, metre: float, more: float, mm2: float) -> None:
    limit = bond_limit(profile=profile, lead_metre=metre, mm2=mm2)
    assert limit <= bond_limit(profile=profile, lead_metre=metre + more, mm2=mm2)
    assert limit >= 0.1
    assert limit.status in ("S", "M")
    assert limit.unit == "Ω"
    assert limit.source


def test_limits_from_memory_say_so() -> None:
    status = {profile.id: bond_limit(profile=profile.id, lead_metre=3, mm2=1).status for profile in BOND_PROFILES}
    assert {name for name, mark in status.items() if mark == "S"} == {"vde_0701_0702", "en_50678", "en_50699", "iet"}
    assert bond_limit(profile="en_50678", lead_metre=10, mm2=1.0).unconfirmed
    assert bond_limit(profile="en_50678", lead_metre=3, mm2=2.5).unconfirmed
    assert bond_limit(profile="iet", lead_metre=3, mm2=6).unconfirmed
    assert bond_limit(profile="as_nzs_3760", lead_metre=3, mm2=1).status_words == "from memory"
    assert not bond_limit(profile="iet", lead_metre=3, mm2=4).unconfirmed


@pytest.mark.parametrize(
    ("spelling", "wanted"),
    [
        ("VDE", "vde_0701_0702"), ("VDE 0701-0702:2008", "vde_0701_0702"), ("vde_0701_0702", "vde_0701_0702"),
        ("EN 50678", "en_50678"), ("en50699", "en_50699"), ("IET", "iet"), ("AS/NZS 3760:2010", "as_nzs_3760"),
        ("asnzs", "as_nzs_3760"), ("AS/NZS 5762", "as_nzs_5762"), ("IEC 62368-1", "iec_62368_1"), ("UL", "ul"),
        ("IEC 60065", "iec_60065"), ("IEC 61010-1", "iec_61010_1"),
    ],
)  # fmt: skip
def test_regimes_are_found_by_common_spellings(spelling: str, wanted: str) -> None:
    assert profile_id(spelling) == wanted
    assert bond_profile(spelling).id == wanted


@pytest.mark.parametrize(
    "wrong",
    [{"profile": "moon"}, {"profile": ""}, {"profile": None}, {"lead_metre": -1.0}, {"lead_metre": 101.0}, {"mm2": 0.0},
     {"mm2": 2.5}, {"mm2": math.nan}, {"profile": "iet", "mm2": 0.8}],
)  # fmt: skip
def test_bonds_no_rule_covers_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        bond_limit(**{"profile": "vde", "lead_metre": 3.0, "mm2": 1.0, **wrong})  # type: ignore[arg-type]


def test_a_limit_survives_copying_with_its_source() -> None:
    limit = bond_limit(profile="iet", lead_metre=3, mm2=1)
    fuse = preferred_fuse(va=100, mains_v=230)
    for original in (limit, fuse):
        for twin in (copy.deepcopy(original), pickle.loads(pickle.dumps(original))):  # noqa: S301 - our own bytes
            assert twin == original
            assert vars(twin) == vars(original)


def test_large_sections_come_down_but_never_below_a_tenth_of_an_ohm() -> None:
    ohms = [bond_limit(profile="en_50678", lead_metre=3, mm2=mm2) for mm2 in (1.5, 2.5, 4.0, 6.0, 10.0, 16.0)]
    assert ohms == sorted(ohms, reverse=True)
    assert ohms[-1] > 0.1
    assert bond_limit(profile="en_50678", lead_metre=0, mm2=16) == 0.1


def test_every_regime_limit_can_be_asked_for_and_carries_its_source() -> None:
    ask = {"insulation": insulation_limit, "earth leakage": earth_leakage_limit, "touch": touch_current_limit}
    for row in REGIME_LIMITS:
        limit = ask[row.quantity](profile=row.profile, protection=row.protection)
        assert (float(limit), limit.status, limit.source) == (row.value, row.status, row.source)
    with pytest.raises(ElectricsError, match="one of I, II"):
        insulation_limit(profile="iet", protection="0")
    with pytest.raises(ElectricsError, match="records no insulation limit"):
        insulation_limit(profile="ul", protection="I")


@given(source_v=st.floats(1, 1000), leak=st.floats(1e3, 1e11), meter=st.floats(1e5, 1e8), sign=st.sampled_from([-1, 1]))
def test_the_leak_is_found_from_what_it_does_to_the_meter(
    source_v: float, leak: float, meter: float, sign: int
) -> None:
    reading = loaded_reading(true_v=sign * source_v, source_ohm=leak, meter_ohm=meter)
    found = board_leakage(source_v=sign * source_v, meter_v=reading, meter_ohm=meter)
    assert found == pytest.approx(leak, rel=1e-6)


@given(true_v=st.floats(-1000, 1000), source=st.floats(0, 1e8), meter=st.floats(1e4, 1e9))
def test_unloading_undoes_loading(true_v: float, source: float, meter: float) -> None:
    reading = loaded_reading(true_v=true_v, source_ohm=source, meter_ohm=meter)
    assert abs(reading) <= abs(true_v)
    assert unloaded(reading, source_ohm=source, meter_ohm=meter) == pytest.approx(true_v)
    assert reading == pytest.approx(true_v * (1 - loading_error(source_ohm=source, meter_ohm=meter)), abs=1e-9)


def test_a_reading_equal_to_the_source_is_no_resistance() -> None:
    assert board_leakage(source_v=300, meter_v=300) == 0.0


@pytest.mark.parametrize(("source", "reading"), [(300, 0), (300, -1), (300, 301), (0, 1), (-52, 1), (300, math.nan)])
def test_leaks_that_cannot_be_told_are_refused(source: float, reading: float) -> None:
    with pytest.raises(ElectricsError):
        board_leakage(source_v=source, meter_v=reading)
    with pytest.raises(ElectricsError):
        meter_input_ohm(true_v=source, reading_v=reading, source_ohm=1e6)


@pytest.mark.parametrize(("source", "meter"), [(-1.0, 1e7), (1.0, 0.0), (math.inf, 1e7), (1.0, -1e7)])
def test_meters_and_sources_need_resistance(source: float, meter: float) -> None:
    for call in (
        lambda: loaded_reading(true_v=1.0, source_ohm=source, meter_ohm=meter),
        lambda: unloaded(1.0, source_ohm=source, meter_ohm=meter),
        lambda: loading_error(source_ohm=source, meter_ohm=meter),
    ):
        with pytest.raises(ElectricsError):
            call()


def test_a_meter_that_takes_nothing_has_no_finite_resistance() -> None:
    with pytest.raises(ElectricsError):
        meter_input_ohm(true_v=5.0, reading_v=5.0, source_ohm=1e6)


@given(va=st.floats(1, 1500), mains_v=st.floats(200, 250), inrush=st.booleans())
def test_a_fuse_carries_the_running_current_and_is_not_far_above(va: float, mains_v: float, inrush: bool) -> None:
    fuse = preferred_fuse(va=va, mains_v=mains_v, inrush=inrush)
    assert fuse in PREFERRED_A
    assert fuse.rated_a >= fuse.running_a == va / mains_v
    assert fuse.rated_a <= max(0.032, fuse.running_a * 1.25 * 1.2801)  # the widest step of the series is 1.28
    assert fuse.characteristic == ("T" if inrush else "F")
    assert fuse.marking.startswith(fuse.characteristic)


@given(va=st.floats(1, 900), more=st.floats(1, 2))
def test_more_load_never_a_smaller_fuse(va: float, more: float) -> None:
    assert preferred_fuse(va=va * more, mains_v=240) >= preferred_fuse(va=va, mains_v=240)


def test_a_fuse_on_its_mark_is_taken_and_printed_as_marked() -> None:
    assert preferred_fuse(va=120 * 0.8, mains_v=120).marking == "T1A"
    assert preferred_fuse(va=100, mains_v=230).marking == "T630mA"
    assert preferred_fuse(va=570, mains_v=230, inrush=False).marking == "F3.15A"


@pytest.mark.parametrize(("va", "volt"), [(0, 230), (-1, 230), (100, 0), (math.nan, 230), (2000, 230)])
def test_fuses_that_are_not_made_are_refused(va: float, volt: float) -> None:
    with pytest.raises(ElectricsError):
        preferred_fuse(va=va, mains_v=volt)


@pytest.mark.parametrize("multiple", [1.0, 3.0, 0.0, -2.1, math.nan])
def test_between_the_gates_the_standard_is_silent(multiple: float) -> None:
    with pytest.raises(ElectricsError):
        melting_time(multiple)


def test_ohms_law_at_the_bond_and_the_leak() -> None:
    assert bond_drop(ohm=0.0, ampere=10.0) == 0.0
    for bad in ((-0.1, 1.0), (0.1, -1.0)):
        with pytest.raises(ElectricsError):
            bond_drop(ohm=bad[0], ampere=bad[1])
    with pytest.raises(ElectricsError):
        equivalent_ohm(volt=230.0, ampere=0.0)


@given(awg=st.floats(0, 37))
def test_three_gauges_halve_the_section(awg: float) -> None:
    assert awg_mm2(awg) / awg_mm2(awg + 3) == pytest.approx(2.005, abs=0.001)


def test_gauges_and_temperatures_out_of_range_are_refused() -> None:
    for bad in (-1.0, 41.0, math.nan):
        with pytest.raises(ElectricsError):
            awg_mm2(bad)
    with pytest.raises(ElectricsError):
        awg_ohm(awg=18, metre=-1.0)
    with pytest.raises(ElectricsError):
        temperature_factor(-41.0)
