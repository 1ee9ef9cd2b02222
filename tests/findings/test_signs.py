"""Rules of the bench that a sign brings with it. Common practice, no source."""

from __future__ import annotations

import pytest
from flask import Flask

from app.boards.rules import BoardKind
from app.boards.service import record_board
from app.boards.spec import BoardFacts
from app.db import transaction
from app.errors import BadInput
from app.findings import queries
from app.findings.models.special import Round
from app.findings.rules.life import Area, Disposition, Status
from app.findings.rules.signs import Sign, is_anode_to_heater, signs_in, stored
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.service import special as special_service
from tests.factories import NOW
from tests.findings.make import facts, finding, order_at
from tests.people import BY
from tests.removals.make import removal


@pytest.mark.parametrize(("valve", "pins", "joins"), [
    ("6L6GC", (3, 2), True), ("EL34", (2, 3), True), ("6V6GT", (3, 7), True), ("6L6GC", (3, 4), False),
    ("6L6GC", (2, 7), False), ("EL84", (7, 4), True), ("EL84", (7, 5), True), ("EL84", (7, 9), False)])
def test_anode_and_heater_pins_of_output_bases(valve: str, pins: tuple[int, int], joins: bool) -> None:
    """Anode 3, heater 2 and 7 on the octal output base; 7, 4 and 5 on EL84 (maker's sheets, from memory)."""
    assert is_anode_to_heater(valve, *pins) == joins


@pytest.mark.parametrize("refused", [Disposition.CLEAN, Disposition.REPAIR, Disposition.ACCEPT, Disposition.MONITOR])
def test_a_tracked_base_is_replaced_not_dug_out(context: Flask, refused: Disposition) -> None:
    with transaction():
        found = finding(order_at(), area=Area.VALVE_BASES, track="6L6GC 3-2", severity=4)
        assert found.sign_set == {Sign.BASE_TRACK}
        with pytest.raises(BadInput):
            outcome_service.decide(found, refused, by=BY, now=NOW)
        outcome_service.decide(found, Disposition.REPLACE_LIKE, by=BY, now=NOW)


def test_a_track_between_other_pins_may_be_cleaned(context: Flask) -> None:
    with transaction():
        found = finding(order_at(), area=Area.VALVE_BASES, track="6L6GC 4-5", severity=1, probability="f")
        outcome_service.decide(found, Disposition.CLEAN, by=BY, now=NOW)
        assert found.status is Status.DECIDED
        with pytest.raises(BadInput, match="two pins"):
            findings_service.change_finding(found, facts(track="the brown one"), by=BY, now=NOW)


@pytest.mark.parametrize("sign", [Sign.EARTH_NO_LOCK, Sign.EARTH_SHARED])
@pytest.mark.parametrize(("severity", "probability"), [(0, None), (3, "a"), (4, "f")])
def test_a_poor_earth_fixing_is_never_judged_below_serious(context: Flask, sign: Sign, severity: int,
                                                           probability: str | None) -> None:
    with transaction():
        order = order_at()
        with pytest.raises(BadInput, match="serious"):
            finding(order, area=Area.EARTH, signs=sign.value, severity=severity, probability=probability)
        found = finding(order, area=Area.EARTH, signs=sign.value, severity=4, probability="e")
        assert found.risk == "S"


def test_a_nut_that_earths_is_proved_by_measuring(context: Flask) -> None:
    with transaction():
        order = order_at()
        found = finding(order, area=Area.CONTROLS, severity=0, signs=Sign.NUT_EARTH.value)
        assert "Loosen the nut" in queries.asks_of(order)[0].words
        outcome_service.decide(found, Disposition.REPAIR, by=BY, now=NOW)
        outcome_service.act_on(found, words="wire to the stud", by=BY, now=NOW)
        with pytest.raises(BadInput, match="instrument"):
            outcome_service.prove(found, result="tight", by=BY, now=NOW)
        outcome_service.prove(found, result="28 milliohm, nut loose", instrument="bond tester", by=BY, now=NOW)
        assert not queries.asks_of(order)


def test_spray_asks_for_the_leakage_that_nobody_looked_for(context: Flask) -> None:
    with transaction():
        order = order_at()
        finding(order, area=Area.CONTROLS, severity=0, signs=Sign.SPRAY.value)
        assert [ask.words for ask in queries.asks_of(order)] == ["Measure the leakage of the boards."]
        finding(order, area=Area.BOARDS, severity=2, signs=Sign.BOARD_LEAKS.value)
        assert all("before and after" in ask.words for ask in queries.asks_of(order))


def test_a_leaking_board_is_proved_by_leakage_before_and_after(context: Flask) -> None:
    with transaction():
        order = order_at()
        found = finding(order, area=Area.BOARDS, severity=2, signs=Sign.BOARD_LEAKS.value)
        outcome_service.decide(found, Disposition.CLEAN, by=BY, now=NOW)
        outcome_service.act_on(found, words="cleaned and dried", by=BY, now=NOW)

        def measure(round_: Round, volts: float) -> None:
            special_service.measure_leakage(found, round=round_, between="eyelets 4 and 5", source_v=250, meter_v=volts,
                                    meter_ohm=10e6, instrument="meter 2", by=BY, now=NOW)

        measure(Round.BEFORE, 2.5)
        with pytest.raises(BadInput, match="before and after"):
            outcome_service.prove(found, result="dry", instrument="meter 2", by=BY, now=NOW)
        bake = special_service.start_bake_out(found, by=BY, now=NOW)
        assert (bake.hours, bake.celsius) == (12, 80) and list(queries.bake_outs(order, running=True)) == [bake]
        special_service.end_bake_out(bake, by=BY, now=bake.due_at)
        measure(Round.AFTER, 0.0)
        first, second = queries.leakage_of(found)
        # The board and the meter divide the source: 10 MΩ (250 / 2.5 − 1) = 990 MΩ (Ohm's law).
        assert first.ohm == pytest.approx(990e6) and second.ohm is None
        outcome_service.prove(found, result="nothing to be read", instrument="meter 2", by=BY, now=NOW)


def test_a_bake_out_knows_its_board_and_what_waits_for_it(context: Flask) -> None:
    """The board that came off, and what came off that board; also what comes off, or gets its sheet, after it was begun."""
    with transaction():
        order = order_at()
        part = removal(order, "R6", name="dropper", place="tag board")
        removal(order, "P1", place="front panel")
        found = finding(order, place="Tag board", signs=Sign.BOARD_LEAKS.value)
        bake = special_service.start_bake_out(found, by=BY, now=NOW)
        assert (bake.board_id, [one.removal_id for one in bake.holds]) == (None, [part.id])
        sheet = record_board(order, BoardFacts("tag board", BoardKind.TAG), by=BY, now=NOW)
        board = removal(order, "D1", name="tag board", place="chassis", stack=())
        assert (bake.board_id, [one.removal_id for one in bake.holds]) == (sheet.id, [part.id, board.id])
        findings_service.change_finding(found, facts(place="front panel", signs=Sign.BOARD_LEAKS.value), by=BY, now=NOW)
        assert bake.board_id is None
        assert [(one.removal_id, one.struck_at is None) for one in bake.holds] == [(part.id, False), (board.id, False), (2, True)]


@pytest.mark.parametrize(("hours", "celsius"), [(0, 80), (200, 80), (12, 20), (12, 140)])
def test_a_bake_out_stays_warm_and_ends(context: Flask, hours: float, celsius: float) -> None:
    with transaction(), pytest.raises(BadInput):
        special_service.start_bake_out(finding(order_at()), hours=hours, celsius=celsius, by=BY, now=NOW)


def test_signs_are_kept_in_the_order_of_the_list() -> None:
    assert stored(["wire weeps", "spray residue"]) == "spray residue|wire weeps"
    assert signs_in(stored(Sign)) == frozenset(Sign) and signs_in("") == frozenset()
