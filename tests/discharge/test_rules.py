"""Lists as they are typed, readings as they are judged, and what a stick leaves in the chain."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from app.discharge.drawing import draw, seconds
from app.discharge.rules.chain import plan
from app.discharge.rules.listing import USUAL, Capacitor, Layout, Supply, as_layout, read_layout
from app.discharge.rules.readings import measures, read_volts, verdict, why_not_shown
from app.errors import BadInput
from app.measuring.rules import Kind, Quantity, Relation, Statement, Verdict
from tests.discharge.make import CHAIN

HT1 = Capacitor("C1", "HT1", 47e-6, 450, None)
BIAS = replace(HT1, supply=Supply.BIAS)


def test_a_list_in_bench_notation_is_read_and_typed_again() -> None:
    found = read_layout(CHAIN)
    assert [(one.name, one.node, one.farad, one.working_v, one.fed_ohm) for one in found] == [
        ("C1", "HT1", 47e-6, 450, None), ("C2", "HT2", 47e-6, 450, 1e3), ("C3", "HT3", 22e-6, 450, 22e3),
        ("C4", "HT4", 22e-6, 450, 47e3), ("bias C1", "bias 1", 50e-6, 100, None)]
    assert read_layout(as_layout(found)) == found
    for usual in USUAL:
        read = read_layout(usual.layout)
        assert read_layout(as_layout(read)) == read


def test_two_across_one_node_and_names_of_the_drawing() -> None:
    found = read_layout(Layout("47u 47u 22u", "0 22k", "500 500 450", "C14 C15 C16", no_bias=True))
    assert [(one.name, one.node, one.working_v) for one in found] == [("C14", "HT1", 500), ("C15", "HT1", 500), ("C16", "HT2", 450)]


@pytest.mark.parametrize(("changed", "field"), [
    ({"farads": "47u, 22x"}, "farads"), ({"farads": ""}, "farads"), ({"farads": "2"}, "farads"), ({"ohms": "1k"}, "ohms"),
    ({"ohms": "1k, 22k, 47k, 1k"}, "ohms"), ({"ohms": "1k, 22k, -47k"}, "ohms"), ({"volts": "450, 400"}, "volts"),
    ({"volts": "0"}, "volts"), ({"names": "C1, C2"}, "names"), ({"names": "C1 C2 C3 c3"}, "names"),
    ({"bias_farads": ""}, "bias_farads"), ({"no_bias": True}, "bias_farads"), ({"bias_volts": ""}, "bias_volts"),
    ({"farads": ",".join(["1u"] * 31)}, "farads")])
def test_a_list_that_cannot_be_is_refused_at_its_field(changed: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_layout(replace(CHAIN, **changed))  # type: ignore[arg-type]
    assert refused.value.field == field


@pytest.mark.parametrize(("text", "capacitor", "words"), [
    ("0", HT1, "It shows 0 V"), ("-38", HT1, "positive"), ("0.4", BIAS, "negative"), ("<-3", BIAS, "without a sign"),
    ("4u7x", HT1, "4u7x")])
def test_what_a_dead_meter_or_swapped_leads_show_is_asked_back(text: str, capacitor: Capacitor, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read_volts(text, capacitor, range_end=600, really=False)


def test_a_reading_that_was_looked_at_twice_is_taken() -> None:
    assert read_volts("0", HT1, range_end=600, really=True).value == 0
    assert read_volts("0.4", BIAS, range_end=600, really=True).value == 0.4
    assert read_volts("-0.4", BIAS, range_end=600, really=False).value == -0.4
    assert read_volts("OL", HT1, range_end=600, really=False).relation is Relation.MORE


@pytest.mark.parametrize(("value", "relation", "uncertainty", "found"), [
    (9.0, "=", 0.35, Verdict.PASS), (-9.0, "=", 0.35, Verdict.PASS), (9.8, "=", 0.35, Verdict.UNDECIDED),
    (10.0, "=", 0.0, Verdict.FAIL), (9.65, "=", 0.35, Verdict.UNDECIDED), (-42.0, "=", 0.5, Verdict.FAIL),
    (600.0, ">", 3.0, Verdict.FAIL), (0.1, "<", 0.0, Verdict.PASS), (12.0, "<", 0.1, Verdict.UNDECIDED)])
def test_the_limit_less_the_meter_s_uncertainty(value: float, relation: str, uncertainty: float, found: Verdict) -> None:
    """Guard band w = U (ILAC-G8:09/2019, 4.2.2); at the limit itself it is not below it."""
    assert verdict(value, Relation(relation), uncertainty, 10.0) is found


def test_only_what_shows_direct_volts_up_to_the_working_volts_may_go_across() -> None:
    stated = [Statement(Quantity.VOLT_DC, 600, 0.5, 3, 0.1)]
    assert measures(Kind.MULTIMETER, stated, 450) and not measures(Kind.MULTIMETER, stated, 650)
    assert not measures(Kind.MULTIMETER, [Statement(Quantity.VOLT_AC, 600, 1, 3, 0.1)], 450)
    for kind in (Kind.CAPACITOR_TESTER, Kind.INSULATION_TESTER, Kind.LOAD, Kind.BOND_TESTER, Kind.THERMOMETER):
        assert not measures(kind, stated, 450)


def test_a_round_shows_only_what_was_read_below_by_a_proved_meter() -> None:
    good = {"C1": Verdict.PASS, "C2": Verdict.PASS}
    assert why_not_shown(["C1", "C2"], good, proved_before=True, proved_after=True) == ""
    assert "C2" in why_not_shown(["C1", "C2"], {"C1": Verdict.PASS}, proved_before=True, proved_after=True)
    assert "C2" in why_not_shown(["C1", "C2"], good | {"C2": Verdict.UNDECIDED}, proved_before=True, proved_after=True)
    assert "after" in why_not_shown(["C1", "C2"], good, proved_before=True, proved_after=False)
    assert "before" in why_not_shown(["C1", "C2"], good, proved_before=False, proved_after=True)


def test_the_far_node_still_holds_42_volts_when_the_first_reads_10() -> None:
    """47+47+22+22 µF behind 1 k, 22 k, 47 k, a stick of 10 k: the worked example of the trade, computed elsewhere by ngspice."""
    found = plan(read_layout(CHAIN), Supply.HT, stick_ohm=10e3, stick_w=10, limit_v=10)
    assert found is not None and not found.why_refused
    assert found.nodes[0].left_v == pytest.approx(10.0) and found.held_s == found.first_s
    assert found.nodes[3].left_v == pytest.approx(42.0, abs=0.5) and found.far.name == "HT4"
    assert found.all_s > 1.4 * found.first_s and 10 < found.rebound_v < 42
    later = plan(read_layout(CHAIN), Supply.HT, stick_ohm=10e3, stick_w=10, limit_v=10, held_s=found.all_s)
    assert later is not None and max(one.left_v for one in later.nodes) == pytest.approx(10.0)


def test_two_capacitors_across_one_node_empty_as_one() -> None:
    """R C of both together (textbook law of capacitors in parallel)."""
    found = plan(read_layout(Layout("47u, 53u", "0", "450", no_bias=True)), Supply.HT, stick_ohm=10e3, stick_w=25, limit_v=10)
    assert found is not None and len(found.nodes) == 1
    assert found.first_s == pytest.approx(10e3 * 100e-6 * math.log(45), rel=1e-6)


@pytest.mark.parametrize(("ohm", "watt", "words"), [
    (10.0, 100.0, "45 A at first touch"), (10e3, 0.25, "on average over the first 5 s")])
def test_a_stick_that_the_supply_would_burn_is_told_so_in_words(ohm: float, watt: float, words: str) -> None:
    found = plan(read_layout(CHAIN), Supply.HT, stick_ohm=ohm, stick_w=watt, limit_v=10)
    assert found is not None and words in found.why_refused and "Put it away" in found.why_refused


def test_an_amp_without_a_bias_supply_has_no_chain_of_it() -> None:
    assert plan(read_layout(USUAL[2].layout), Supply.BIAS, stick_ohm=10e3, stick_w=10, limit_v=10) is None


def test_the_chain_is_drawn_with_what_is_left() -> None:
    found = plan(read_layout(CHAIN), Supply.HT, stick_ohm=10e3, stick_w=10, limit_v=10)
    assert found is not None
    drawn = draw(found)
    assert [node.over for node in drawn.nodes] == [found.nodes[0].left_v >= 10, True, True, True]
    assert drawn.nodes[3].volts == "42 V" and drawn.nodes[3].above == "47 kΩ" and "HT4 42 V" in drawn.words
    assert [node.length for node in drawn.nodes] == sorted(node.length for node in drawn.nodes)
    assert (seconds(8.61), seconds(75.2), seconds(721)) == ("8.7 s", "76 s", "13 min")
