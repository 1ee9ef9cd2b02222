"""Expected against measured: which source speaks, the deviation, the verdict and why; modifications; parts from the boards."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.circuits.rules.blocks import Given
from app.circuits.rules.boards import Place, with_boards
from app.circuits.rules.changes import modifications
from app.circuits.rules.chart import LEFT, RIGHT, chart
from app.circuits.rules.compare import Known, Left, Printed, Read, Row, Source, rows
from app.circuits.rules.work import work
from app.measuring.rules import Relation, Verdict
from tests.circuits import make

WHOLE = make.sheet()


def compared(known: Known, *, first: Source = Source.CALCULATED, mains_v: float | None = 246.0) -> dict[str, Row]:
    found = rows(work(WHOLE, mains_v), known, first=first, mains_v=mains_v, tap_v=240.0)
    return {row.node: row for row in found}


def test_the_source_that_speaks_is_named_and_the_others_stand_beside_it() -> None:
    known = Known(printed=(Printed("V1a anode", 205.0, 0.2, "sheet 2"),),
                  left=(Left("V1a anode", 212.0, "1002"), Left("V1a anode", 214.0, "1003")))
    row = compared(known)["V1a anode"]
    assert [one.source for one in row.said] == [Source.CALCULATED, Source.PRINTED, Source.AS_LEFT]
    assert row.speaks is not None and row.speaks.words.startswith("calculated from the sheet at 246 V mains, 240 V tap")
    other = compared(known, first=Source.PRINTED)["V1a anode"]
    assert other.speaks is not None and other.speaks.source is Source.PRINTED and "±20%: sheet 2" in other.speaks.words
    assert other.speaks.at_tap.value == 205 and other.speaks.now.value == pytest.approx(205 * 246 / 240)
    left = compared(known, first=Source.AS_LEFT)["V1a anode"].speaks
    assert left is not None and left.at_tap.value == pytest.approx(213) and "1002, 1003" in left.words


def test_a_node_that_only_a_drawing_knows_is_there_too() -> None:
    row = compared(Known(printed=(Printed("cathode of V9", 12.0, 0.2, ""),)))["cathode of V9"]
    assert row.speaks is not None and row.speaks.source is Source.PRINTED


@pytest.mark.parametrize(("volt", "verdict", "words"), [
    (216.0, Verdict.PASS, "Expected 216.3 V"), (170.0, Verdict.FAIL, "It is 46.3 V below, 21%: 3.1 half-bands"),
    (201.5, Verdict.UNDECIDED, "too close to the edge"), (290.0, Verdict.FAIL, "above")])
def test_the_verdict_and_why(volt: float, verdict: Verdict, words: str) -> None:
    held = compared(Known(as_found={"V1a anode": Read(volt, uncertainty=1.0, mains_v=246.0)}))["V1a anode"].as_found
    assert held is not None and held.verdict is verdict and words in held.why
    assert held.at_tap == pytest.approx(volt * 240 / 246)


def test_a_reading_at_other_mains_is_carried_to_the_sheets() -> None:
    """406.5 V at 240 V is 416.7 V at 246 V (worked by hand)."""
    held = compared(Known(as_found={"HT1": Read(406.5, uncertainty=2.0, mains_v=240.0)}))["HT1"].as_found
    assert held is not None and held.carried == pytest.approx(416.66, abs=0.01) and held.verdict is Verdict.PASS
    assert "Read at 240 V mains, it would be 416.7 V at the sheet’s" in held.why and held.at_tap == 406.5


def test_a_reading_carried_far_or_by_a_meter_out_of_date_is_in_doubt() -> None:
    """HT does not follow the mains that far: valves and rectifier do not, and no mains lies 20 % above its tap."""
    volt = 406.5 * 300 / 240
    held = compared(Known(as_found={"HT1": Read(volt, uncertainty=2.0, mains_v=300.0)}))["HT1"].as_found
    assert held is not None and held.verdict is Verdict.UNDECIDED and "too far to carry" in held.why
    held = compared(Known(as_found={"HT1": Read(406.5, uncertainty=2.0, mains_v=240.0, out_of_date="overdue")}))["HT1"].as_found
    assert held is not None and held.verdict is Verdict.UNDECIDED and "Its instrument was overdue" in held.why


def test_heaters_are_held_to_their_nominal_volts_at_any_mains() -> None:
    held = compared(Known(as_found={"heaters AC": Read(6.98, uncertainty=0.02, mains_v=266.0)}))["heaters AC"].as_found
    assert held is not None and held.verdict is Verdict.FAIL and held.carried == 6.98


def test_a_meter_without_a_stated_accuracy_judges_nothing() -> None:
    held = compared(Known(as_found={"HT1": Read(300.0, mains_v=246.0)}))["HT1"].as_found
    assert held is not None and held.verdict is Verdict.NOT_JUDGED and "states no accuracy" in held.why


def test_a_bound_is_judged_as_one() -> None:
    held = compared(Known(as_left={"HT1": Read(600.0, Relation.MORE, 1.0, 246.0)}))["HT1"].as_left
    assert held is not None and held.verdict is Verdict.FAIL


def test_a_meter_that_takes_much_is_named() -> None:
    held = compared(Known(as_found={"V3 grid": Read(10.0, uncertainty=0.1, mains_v=246.0)}))["V3 grid"].as_found
    assert held is not None and "The meter takes 40% of the true volts here" in held.why


def test_the_chart_puts_the_band_in_its_middle_and_what_is_beyond_at_its_edge() -> None:
    found = compared(Known(as_found={"V1a anode": Read(20.0, uncertainty=1.0, mains_v=246.0)},
                           as_left={"V1a anode": Read(216.28, uncertainty=1.0, mains_v=246.0)}))
    drawn = chart(found.values())
    (bar,) = drawn.bars
    assert bar.as_found is not None and (bar.as_found.x, bar.as_found.beyond, bar.as_found.sign) == (LEFT, -1, "fail")
    assert bar.as_left is not None and bar.as_left.x == pytest.approx((LEFT + RIGHT) / 2, abs=0.1) and bar.as_left.sign == "pass"
    assert (drawn.low + drawn.high) / 2 == pytest.approx((LEFT + RIGHT) / 2)


def test_what_is_otherwise_than_the_models_sheet_is_a_modification() -> None:
    here = make.without(make.changed(WHOLE, "V1a", "cathode_ohm", 2700), "feedback")
    found = {(one.block, one.what): (one.model, one.here) for one in modifications(WHOLE, here)}
    assert found == {("V1a", "cathode resistor"): ("1.5 kΩ", "2.7 kΩ"), ("feedback", "feedback"): ("there", "left out")}
    assert modifications(WHOLE, WHOLE) == ()


PLACE = Place("board 1", "R6", "ohm", 100e3, 118e3, 0.1, replaced=False, percent=0.8)


@pytest.mark.parametrize(("place", "number", "origin"), [
    (PLACE, 118e3, "measured, board 1 R6, typed 100k"), (replace(PLACE, measured=None), 100e3, "typed"),
    (replace(PLACE, replaced=True), 100e3, "typed"), (replace(PLACE, unit="F"), 100e3, "typed"),
    (replace(PLACE, reference="R7"), 100e3, "typed")])
def test_a_reading_out_of_circuit_goes_before_what_is_typed(place: Place, number: float, origin: str) -> None:
    found = with_boards(WHOLE, [place]).block("V1a")
    assert found is not None
    assert (found.number("anode_ohm"), found.of("anode_ohm").origin) == (number, origin)


def test_a_marked_value_fills_what_is_not_typed() -> None:
    here = make.changed(WHOLE, "V1a", "anode_ohm", Given(reference="R6"))
    found = with_boards(here, [replace(PLACE, measured=None, replaced=True)]).block("V1a")
    assert found is not None and found.number("anode_ohm") == 100e3 and found.of("anode_ohm").origin == "new part, board 1 R6"


def test_a_position_of_two_boards_is_taken_by_its_board_alone() -> None:
    twice = [PLACE, replace(PLACE, board="board 2", measured=90e3)]
    assert with_boards(WHOLE, twice).block("V1a").number("anode_ohm") == 100e3  # type: ignore[union-attr]
    named = make.changed(WHOLE, "V1a", "anode_ohm", Given(100e3, reference="Board 2 R6"))
    assert with_boards(named, twice).block("V1a").number("anode_ohm") == 90e3  # type: ignore[union-attr]
