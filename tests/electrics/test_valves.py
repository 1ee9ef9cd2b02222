"""The valve table and the currents of a valve."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import (
    ElectricsError,
    arc_risk_pins,
    koren_pentode,
    koren_triode,
    pentode_currents,
    triode_current,
    valve,
    valve_names,
)
from app.electrics.supply.rectifiers import SpaceCharge, law
from app.electrics.valves.koren import pentode_anode, triode_anode, triode_point
from app.electrics.valves.lookup import all_names

TRIODES = [name for name in valve_names() if valve(name).kind == "triode"]
PENTODES = [name for name in valve_names() if valve(name).kind == "pentode"]
RECTIFIERS = [name for name in valve_names() if valve(name).kind == "rectifier"]


@pytest.mark.parametrize(
    ("other", "name"),
    [
        ("ECC83", "12AX7"), ("7025", "12AX7"), ("12AX7A", "12AX7"), ("ECC81", "12AT7"), ("ECC82", "12AU7"),
        ("6072", "12AY7"), ("6SN7", "6SN7GT"), ("6SL7", "6SL7GT"), ("6CA7", "EL34"), ("6BQ5", "EL84"),
        ("6V6", "6V6GT"), ("6L6", "6L6"), ("6L6G", "6L6"), ("7591A", "7591"), ("GZ34", "5AR4"),
        ("5U4", "5U4GB"), ("5Y3", "5Y3GT"), ("5V4", "5V4GA"), ("6550", "6550"), ("KT88", "KT88"),
        ("6973", "6973"), ("5881", "5881"), ("6l6gc", "6L6GC"), (" ecc 83 ", "12AX7"), ("EL-34", "EL34"),
        ("12AX7 / ECC83", "12AX7"), ("6v6 gt", "6V6GT"),
        ("6V6GT/G", "6V6GT"), ("GZ32", "5V4GA"), ("U52", "5U4G"), ("6CA4", "EZ81"), ("6V4", "EZ80"), ("12BH7", "12BH7A"),
        ("6922", "ECC88"), ("6DJ8", "ECC88"), ("5751WA", "5751"), ("KT-66", "KT66"),
        ("6267", "EF86"), ("EL90", "6AQ5"), ("EZ90", "6X4"), ("6BM8", "ECL82"), ("6GW8", "ECL86"), ("6BL8", "ECF80"),
        ("ECF82", "6U8"), ("ECC832", "12DW7"), ("6BX6", "EF80"), ("6KG6", "EL509"), ("CV378", "GZ37"), ("6K6GT", "6K6"),
        ("ecl82 triode", "ECL82 triode"), ("6GW8 triode", "ECL86 triode"),
    ],
)  # fmt: skip
def test_second_names_find_the_same_valve(other, name):
    assert valve(other) is valve(name)
    assert valve(other).name == name


@pytest.mark.parametrize(
    ("marked", "name"), [("5881WXT", "5881"), ("EL34B", "EL34"), ("6550C", "6550"), ("12AX7WB", "12AX7"), ("ECC 83 S", "12AX7")]
)
def test_a_makers_suffix_falls_back_to_the_type_with_a_word(marked, name):
    found = valve(marked)
    assert found.name == name and found.ratings == valve(name).ratings
    assert (marked in found.remark) == (marked != "ECC 83 S")  # which is a second name in the table


MET = [
    "EZ81", "6CA4", "KT66", "EF86", "6267", "EZ80", "12BH7", "5751", "7189", "7027A", "ECC88", "6922", "6AQ5", "EL90",
    "6X4", "KT77", "12DW7", "ECL82", "6BM8", "ECL86", "6GW8", "KT90", "KT120", "KT150", "6EU7", "ECF80", "6U8", "GZ37",
    "7868", "6SJ7", "6SC7", "6F6", "6K6", "EF80", "EL509", "807",
]  # fmt: skip


@pytest.mark.parametrize("name", MET)
def test_the_valves_that_shops_meet_are_in_the_table(name):
    entry = valve(name)
    assert entry.ratings is not None or entry.rectifier is not None
    assert all(heater.ampere > 0 for heater in entry.heaters)


@pytest.mark.parametrize(
    ("marked", "name", "anode_w"),
    [("6L6", "6L6", 19), ("6L6GB", "6L6", 19), ("6L6GC", "6L6GC", 30), ("6L6WXT", "6L6", 19), ("6L6GCM", "6L6GC", 30),
     ("5881WXT", "5881", 23), ("6L6WGB", "5881", 23), ("6L6WGA", "6L6", 19), ("6V6GT", "6V6GT", 12), ("6V6GTA", "6V6GTA", 14),
     ("6V6EH", "6V6GT", 12), ("12AX7A", "12AX7", 1), ("7189", "7189", 12), ("7189A", "7189A", 13.2), ("6550A", "6550A", 42),
     ("6550C", "6550", 35), ("6SN7GTB", "6SN7GTB", 5), ("6SN7WGT", "6SN7GT", 3.5), ("6AQ5A", "6AQ5", 12), ("E34L", "EL34", 25)],
)  # fmt: skip
def test_a_suffix_that_means_other_ratings_does_not_borrow_them(marked, name, anode_w):
    found = valve(marked)
    assert (found.name, found.limits().anode_w) == (name, anode_w)


@pytest.mark.parametrize("marked", ["6L6WGB", "6L6WGA", "E34L"])
def test_a_type_that_is_only_taken_for_another_says_so(marked):
    assert marked in valve(marked).remark


@pytest.mark.parametrize("marked", ["7027", "PCL82", "UCL82", "PL509", "6X5GT", "ECF80/6U8", "ECC85"])
def test_a_type_of_other_ratings_or_heater_is_no_suffix(marked):
    """A 7027 is rated below the 7027A, P and U types have other heaters, and an ECF80 is a 6BL8, not a 6U8."""
    with pytest.raises(ElectricsError):
        valve(marked)


def test_a_valve_with_limits_only_says_so_and_passes_no_current():
    with pytest.raises(ElectricsError, match="of this one only the limits are"):
        pentode_currents("KT150", anode_v=400, screen_v=225, grid_v=-14)
    with pytest.raises(ElectricsError, match="only some limits are"):
        law("GZ37", 1)


def test_a_valve_of_which_something_is_not_known_is_no_name_for_every_sum():
    left_out = {"6SC7", "EF86", "6SJ7", "EF80", "ECF80", "6U8", "KT77", "KT90", "KT120", "KT150", "EL509", "807", "GZ37"}
    assert set(all_names()) - set(valve_names()) == left_out


def test_an_unknown_limit_is_left_out_and_never_filled():
    assert valve("KT150").limits().screen_w is None and valve("6SC7").limits().anode_w is None
    assert valve("GZ37").rectifier.piv_v is None
    with pytest.raises(ElectricsError, match="rated anode dissipation"):
        valve("6SC7").anode_limit_w()


@pytest.mark.parametrize("marked", ["5881WWXTT", "5881X7", "12WB", "X5881", "12AX7WB/12AT7WB"])
def test_a_suffix_is_a_few_letters_at_the_end(marked):
    with pytest.raises(ElectricsError):
        valve(marked)


def test_no_name_means_two_valves():
    names = [name for entry in map(valve, all_names()) for name in (entry.name, *entry.also)]
    assert len(names) == len(set(names))
    assert all(valve(name).name in names for name in names)


def test_an_unknown_valve_is_refused_with_near_names():
    with pytest.raises(ElectricsError) as refusal:
        valve("12XA7")
    assert "12XA7" in str(refusal.value)
    assert "12AX7" in str(refusal.value)


def test_a_name_near_nothing_is_refused_with_the_whole_table():
    with pytest.raises(ElectricsError) as refusal:
        valve("ZZZ999")
    assert all(name in str(refusal.value) for name in all_names())


@pytest.mark.parametrize("bad", ["", "  ", "/", "12AX7/ECC81", None, 12])
def test_what_is_no_valve_name_is_refused(bad):
    with pytest.raises(ElectricsError):
        valve(bad)


def test_a_double_name_of_two_valves_says_which():
    with pytest.raises(ElectricsError, match="12AX7 and 12AT7"):
        valve("12AX7/ECC81")


@pytest.mark.parametrize("name", all_names())
def test_every_figure_carries_source_and_mark(name):
    entry = valve(name)
    sources = [entry.pin_source, *(heater.source for heater in entry.heaters)]
    sources += [point.source for point in entry.points]
    sources += [part.source for part in (entry.ratings, entry.rectifier) if part is not None]
    sources += [entry.model_source] if entry.model_source is not None else []
    assert entry.heaters
    assert all(source.mark in ("S", "M", "C") and source.text for source in sources)
    assert (entry.model is None) == (entry.model_source is None) == (not entry.points)
    assert entry.model is None or entry.kind != "rectifier"


def test_ratings_name_their_system_and_the_mark_of_each_figure():
    ratings = valve("6L6GC").limits()
    assert (ratings.system, ratings.anode_w, ratings.screen_w) == ("design-maximum", 30.0, 5.0)
    assert ratings.mark_of("anode_w") == "S"
    assert ratings.mark_of("screen_w") == "M"
    assert valve("6V6GT").limits().system == "design-centre"
    assert valve("EL34").limits().cathode_a == 0.150


@pytest.mark.parametrize(
    ("name", "volt", "ampere"),
    [("6L6GC", 6.3, 0.9), ("EL34", 6.3, 1.5), ("EL84", 6.3, 0.76), ("6V6GT", 6.3, 0.45), ("KT88", 6.3, 1.6),
     ("6SN7GT", 6.3, 0.6), ("6SL7GT", 6.3, 0.3), ("7591", 6.3, 0.8), ("6973", 6.3, 0.45), ("12AX7", 12.6, 0.15),
     ("6V6GTA", 6.3, 0.45), ("6L6", 6.3, 0.9), ("5881", 6.3, 0.9), ("6550", 6.3, 1.6), ("6550A", 6.3, 1.6), ("6SN7GTB", 6.3, 0.6),
     ("12AT7", 12.6, 0.15), ("12AU7", 12.6, 0.15), ("12AY7", 12.6, 0.15), ("KT66", 6.3, 1.27), ("EZ81", 6.3, 1.0),
     ("EZ80", 6.3, 0.6), ("12BH7", 12.6, 0.3), ("5751", 12.6, 0.175), ("ECC88", 6.3, 0.365), ("EF86", 6.3, 0.2),
     ("7189", 6.3, 0.76),
     ("7189A", 6.3, 0.76), ("7027A", 6.3, 0.9), ("6AQ5", 6.3, 0.45), ("6X4", 6.3, 0.6), ("KT77", 6.3, 1.4), ("12DW7", 12.6, 0.15),
     ("ECL82", 6.3, 0.78), ("ECL86", 6.3, 0.66), ("KT90", 6.3, 1.6), ("KT120", 6.3, 1.95), ("KT150", 6.3, 2.0), ("6EU7", 6.3, 0.3),
     ("ECF80", 6.3, 0.43), ("6U8", 6.3, 0.45), ("GZ37", 5.0, 2.8), ("7868", 6.3, 0.8), ("6SJ7", 6.3, 0.3), ("6SC7", 6.3, 0.3),
     ("6F6", 6.3, 0.7), ("6K6", 6.3, 0.4), ("EF80", 6.3, 0.3), ("EL509", 6.3, 2.0), ("807", 6.3, 0.9)],
)  # fmt: skip
def test_heaters(name, volt, ampere):
    assert (valve(name).heaters[0].volt, valve(name).heaters[0].ampere) == (volt, ampere)


@pytest.mark.parametrize(
    ("name", "anode_w", "screen_w"),
    [("6L6", 19, 2.5), ("5881", 23, 3), ("6V6GT", 12, 2), ("6V6GTA", 14, 2.2), ("EL34", 25, 8), ("EL84", 12, 2), ("6550", 35, 6),
     ("KT88", 42, 8), ("6973", 12, 2), ("7591", 19, 3.3), ("KT66", 25, 3.5), ("7189", 12, 2), ("7027A", 35, 5), ("6AQ5", 12, 2),
     ("ECL82", 7, 1.8), ("ECL86", 9, 1.5), ("KT90", 50, 8), ("KT120", 60, 8), ("KT150", 70, None), ("7868", 19, 3.3),
     ("6F6", 11, 3.75), ("6K6", 8.5, 2.8), ("807", 25, 3.5), ("EL509", 30, 7), ("EF86", 1, 0.2)],
)  # fmt: skip
def test_what_anode_and_screen_may_dissipate(name, anode_w, screen_w):
    """The makers' sheets, from memory."""
    limits = valve(name).limits()
    assert (limits.anode_w, limits.screen_w) == (anode_w, screen_w)


def test_a_12_volt_twin_has_two_heater_connections():
    assert [(heater.volt, heater.ampere) for heater in valve("ECC82").heaters] == [(12.6, 0.15), (6.3, 0.3)]


@pytest.mark.parametrize("name", all_names())
def test_no_pin_has_two_uses_save_those_joined_inside(name):
    entry = valve(name)
    limit = {"octal": 8, "miniature 7-pin": 7, "small 5-pin": 5}.get(entry.base, 9)
    uses: dict[int, set[str]] = {}
    for use, pins in entry.pins.items():
        for pin in pins:
            assert 1 <= pin <= limit
            uses.setdefault(pin, set()).add(use)
    joined = [held for held in uses.values() if len(held) > 1]
    assert joined in ([], [{"cathode", "suppressor"}], [{"cathode", "heater"}])


def test_arc_risk_sees_neighbours_on_the_base_only():
    assert arc_risk_pins("6L6GC") == ((3, 2),)
    assert arc_risk_pins(valve("12AX7")) == ((6, 5),)
    assert arc_risk_pins("5Y3") == ()
    with pytest.raises(ElectricsError):
        arc_risk_pins("6L7")


@pytest.mark.parametrize("name", TRIODES)
def test_a_triode_is_off_without_anode_volts_and_in_cut_off(name):
    assert triode_current(name, anode_v=0, grid_v=0) == 0.0
    assert triode_current(name, anode_v=250, grid_v=-100) < 1e-9


@pytest.mark.parametrize("name", PENTODES)
def test_a_pentode_is_off_in_cut_off_and_gives_its_screen_no_share_then(name):
    anode, screen = pentode_currents(name, anode_v=300, screen_v=250, grid_v=-100)
    assert 0 <= screen < 1e-6
    assert 0 <= anode < 1e-5
    assert pentode_currents(name, anode_v=300, screen_v=0, grid_v=-10) == (0.0, 0.0)


@pytest.mark.parametrize("name", PENTODES)
def test_a_screen_takes_what_the_anode_leaves(name):
    _, high = pentode_currents(name, anode_v=250, screen_v=250, grid_v=-5)
    anode, low = pentode_currents(name, anode_v=0, screen_v=250, grid_v=-5)
    assert anode == 0.0
    assert low > high > 0.0


@given(
    name=st.sampled_from(TRIODES),
    va=st.floats(0, 500),
    vg=st.floats(-60, 0),
    more=st.floats(0, 50),
)
def test_triode_current_rises_with_anode_and_with_grid(name, va, vg, more):
    here = triode_current(name, anode_v=va, grid_v=vg)
    assert math.isfinite(here)
    assert here >= 0.0
    assert triode_current(name, anode_v=va + more, grid_v=vg) >= here * (1 - 1e-12)
    assert triode_current(name, anode_v=va, grid_v=vg + more) >= here * (1 - 1e-12)


@given(
    name=st.sampled_from(PENTODES),
    va=st.floats(0, 800),
    vs=st.floats(0, 500),
    vg=st.floats(-120, 0),
    more=st.floats(0, 50),
)
def test_pentode_currents_rise_with_every_electrode(name, va, vs, vg, more):
    anode, screen = pentode_currents(name, anode_v=va, screen_v=vs, grid_v=vg)
    assert math.isfinite(anode)
    assert math.isfinite(screen)
    for volts in ((va + more, vs, vg), (va, vs + more, vg), (va, vs, vg + more)):
        anode_more, _ = pentode_currents(name, anode_v=volts[0], screen_v=volts[1], grid_v=volts[2])
        assert anode_more >= anode * (1 - 1e-12)
    for volts in ((va, vs + more, vg), (va, vs, vg + more)):
        _, screen_more = pentode_currents(name, anode_v=volts[0], screen_v=volts[1], grid_v=volts[2])
        assert screen_more >= screen * (1 - 1e-12)


@given(name=st.sampled_from(TRIODES), va=st.floats(20, 500), vg=st.floats(-20, 0))
def test_slopes_are_those_of_the_current(name, va, vg):
    model, h = valve(name).triode(), 1e-4
    current, gm, ga = (float(value) for value in triode_point(model, va, vg))
    assert current == pytest.approx(float(triode_anode(model, va, vg)), rel=1e-12)
    by_grid = (triode_anode(model, va, vg + h) - triode_anode(model, va, vg - h)) / (2 * h)
    by_anode = (triode_anode(model, va + h, vg) - triode_anode(model, va - h, vg)) / (2 * h)
    assert gm == pytest.approx(float(by_grid), rel=1e-4, abs=1e-11)
    assert ga == pytest.approx(float(by_anode), rel=1e-4, abs=1e-11)


def test_inner_forms_take_arrays():
    va = np.linspace(0, 400, 9)
    one = triode_anode(valve("12AX7").triode(), va, -1.5)
    assert one.shape == (9,)
    assert [float(a) for a in one] == [triode_current("12AX7", anode_v=float(v), grid_v=-1.5) for v in va]
    grid = pentode_anode(valve("EL84").pentode(), va[:, None], 250, np.array([-12.0, -6.0]))
    assert grid.shape == (9, 2)


def test_extreme_volts_give_no_nan_and_no_overflow():
    for name in PENTODES:
        assert all(math.isfinite(i) for i in pentode_currents(name, anode_v=5000, screen_v=2000, grid_v=100))
        assert max(pentode_currents(name, anode_v=5000, screen_v=1e-9, grid_v=-1000)) < 1e-30
    for name in TRIODES:
        assert math.isfinite(triode_current(name, anode_v=5000, grid_v=100))
        assert triode_current(name, anode_v=1e-9, grid_v=-1000) == 0.0


@pytest.mark.parametrize(
    ("argument", "volts"),
    [
        ("anode_v", {"anode_v": -1.0, "screen_v": 250, "grid_v": -10}),
        ("anode_v", {"anode_v": math.nan, "screen_v": 250, "grid_v": -10}),
        ("screen_v", {"anode_v": 250, "screen_v": math.inf, "grid_v": -10}),
        ("grid_v", {"anode_v": 250, "screen_v": 250, "grid_v": 101}),
    ],
)
def test_volts_out_of_range_are_refused_by_name(argument, volts):
    with pytest.raises(ElectricsError) as refusal:
        pentode_currents("6L6GC", **volts)
    assert refusal.value.argument == argument
    assert "must be" in str(refusal.value)


def test_the_wrong_kind_of_valve_is_refused():
    with pytest.raises(ElectricsError, match="a triode"):
        triode_current("EL84", anode_v=250, grid_v=-7)
    with pytest.raises(ElectricsError, match="pentode"):
        pentode_currents("12AX7", anode_v=250, screen_v=250, grid_v=-7)
    with pytest.raises(ElectricsError):
        triode_current("5Y3", anode_v=250, grid_v=-7)


def test_koren_with_ones_own_parameters_refuses_nonsense():
    good = {"mu": 100.0, "ex": 1.4, "kg1": 1060.0, "kp": 600.0, "kvb": 300.0}
    assert koren_triode(anode_v=250, grid_v=-2, **good) > 0
    for argument in good:
        with pytest.raises(ElectricsError) as refusal:
            koren_triode(anode_v=250, grid_v=-2, **{**good, argument: -1.0})
        assert refusal.value.argument == argument
        with pytest.raises(ElectricsError) as refusal:
            koren_pentode(anode_v=250, screen_v=250, grid_v=-2, **{**good, argument: 0.0})
        assert refusal.value.argument == argument


@pytest.mark.parametrize("name", RECTIFIERS)
def test_rectifiers_carry_limits_and_refuse_to_amplify(name):
    entry = valve(name)
    assert entry.rectifier is not None
    assert entry.rectifier.peak_a > entry.rectifier.mean_a > 0
    assert entry.rectifier.piv_v >= 1000
    assert law(name, 1) == SpaceCharge(entry.rectifier.perveance, 1)
    for refused in (entry.triode, entry.pentode, entry.limits, entry.anode_limit_w):
        with pytest.raises(ElectricsError):
            refused()
