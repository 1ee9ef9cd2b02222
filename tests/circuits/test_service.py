"""Sheets of a shop: copied from the model's, kept, renamed, withdrawn, and their points."""

from __future__ import annotations

import pytest
from flask import Flask

from app.boards import service as boards
from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.boards.spec import BoardFacts, PositionFacts
from app.circuits import queries
from app.circuits.models import AmpSheet
from app.circuits.rules.blocks import Given, Kind
from app.circuits.rules.compare import Source
from app.circuits.service import blocks, points, sheets
from app.circuits.spec import PrintedFacts, SheetFacts
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.measuring.rules import Phase
from app.measuring.service import points as measuring_points
from app.measuring.service import readings
from app.orders.models import RepairOrder
from tests import factories
from tests.circuits import make
from tests.factories import NOW
from tests.measuring import make as meters
from tests.people import BY

WHEN = {"by": BY, "now": NOW}


def whole(order: RepairOrder | None = None) -> tuple[RepairOrder, AmpSheet]:
    found = order or factories.order()
    return found, make.entered(found)


def test_the_next_amp_of_the_model_begins_with_the_sheet_that_was_kept(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        sheets.add_printed(sheet, order, PrintedFacts("V1a anode", 205.0, 15.0, "sheet 2"), **WHEN)
        kept = sheets.keep_for_model(sheet, order, **WHEN)
        blocks.change_block(next(one for one in sheet.shown if one.name == "V1a"), order, "V1a",
                            {"cathode_ohm": Given(2700.0)}, **WHEN)  # after it was kept: the model's stays as it was
        again = factories.order(amp=factories.amp("TARN-HOLT", "Meridian-30", serial="M30-0990"))
        made = sheets.begin(again, **WHEN)
        session().flush()
        assert made.copied_from_id == kept.id and made.as_entered.blocks and made.whole
        assert [(one.name, one.kind) for one in made.shown] == [(one.name, one.kind) for one in kept.shown]
        assert made.as_entered.block("V1a").of("anode_ohm") == Given(100e3, reference="R6")  # type: ignore[union-attr]
        assert [one.value.volt for one in made.prints] == [205.0]
        assert queries.changed_of(made) == ()
        blocks.change_block(next(one for one in made.shown if one.name == "V1b"), again, "V1b", {"anode_ohm": Given(220e3)}, **WHEN)
        (changed,) = queries.changed_of(made)
        assert (changed.block, changed.what, changed.model, changed.here) == ("V1b", "anode resistor", "100 kΩ", "220 kΩ")


def test_another_model_begins_empty(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        sheets.keep_for_model(sheet, order, **WHEN)
        other = factories.order(amp=factories.amp("Tarnholt", "Meridian 50", serial="M50-1"))
        assert sheets.begin(other, **WHEN).shown == []
        with pytest.raises(RuleBroken, match="sheet already"):
            sheets.begin(other, **WHEN)


def test_a_renamed_block_keeps_its_wires_points_and_printed_volts(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        sheets.add_printed(sheet, order, PrintedFacts("V1b anode", 180.0, 20.0), **WHEN)
        points.lay_out(order, sheet, **WHEN)
        session().flush()
        stage = next(one for one in sheet.shown if one.name == "V1b")
        blocks.change_block(stage, order, "second stage", {}, **WHEN)
        session().flush()
        assert sheet.as_entered.block("V2a").word("signal_from") == "second stage"  # type: ignore[union-attr]
        assert [one.node for one in sheet.prints] == ["second stage anode"]
        there = queries.points_by_node(order)
        assert "V1b anode" not in there and there["second stage anode"].name == "second stage anode"
        assert {row.node for row in queries.compared(order, sheet)} >= {"second stage anode"}


def test_two_blocks_have_two_names(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        for name, words in (("v1A", "called v1A already"), (" ", "Give the block a name"), ("0", "0 is the chassis")):
            with pytest.raises(BadInput, match=words):
                blocks.add_block(sheet, order, Kind.STAGE, name, {}, **WHEN)


def test_a_withdrawn_block_leaves_a_free_name_and_says_what_hangs_on_it(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        block = next(one for one in sheet.shown if one.name == "HT4")
        with pytest.raises(BadInput, match="Enter why"):
            blocks.withdraw_block(block, order, reason=" ", **WHEN)
        blocks.withdraw_block(block, order, reason="there is none", **WHEN)
        session().flush()
        found = dict(queries.worked(order, sheet).why_not)
        assert any("there is no block called HT4" in one for one in found["V1a"])
        blocks.add_block(sheet, order, Kind.DROPPER, "HT4", {"fed_by": Given(None, "HT3"), "ohm": Given(12e3),
                                                             "farad": Given(22e-6)},
                         **WHEN)
        session().flush()
        assert dict(queries.worked(order, sheet).why_not) == {}
        with pytest.raises(RuleBroken, match="was withdrawn: there is none"):
            blocks.change_block(block, order, "HT4", {}, **WHEN)


def test_a_point_that_was_withdrawn_is_not_laid_out_again_and_limits_follow_the_mains(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        points.lay_out(order, sheet, **WHEN)
        session().flush()
        before = queries.points_by_node(order)
        rail = before["HT1"].expected
        measuring_points.withdraw_point(before["V3 tail"], reason="cannot be reached", **WHEN)
        sheets.change(sheet, order, SheetFacts(mains_v=230.0, whole=True), **WHEN)
        points.lay_out(order, sheet, **WHEN)
        session().flush()
        after = queries.points_by_node(order)
        assert "V3 tail" not in after and len(after) == len(before) - 1
        assert rail is not None and after["HT1"].expected is not None and after["HT1"].expected < 0.95 * rail
        assert after["HT1"].id == before["HT1"].id and "230 V mains" in after["HT1"].basis


def test_a_part_is_what_its_board_read_out_of_circuit(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        board = boards.record_board(order, BoardFacts("board 1", BoardKind.TAG), **WHEN)
        session().flush()
        place = boards.record_position(board, order, PositionFacts("R6", PartKind.RESISTOR, 100e3, 0.1, 121e3, 64e3), **WHEN)
        session().flush()
        found = queries.effective(order, sheet).block("V1a")
        assert found is not None and found.number("anode_ohm") == 121e3
        boards.change_position(place, order, PositionFacts("R6", PartKind.RESISTOR, 100e3, 0.1, 121e3, 64e3, Fate.REPLACE,
                                                           Reason.DRIFTED), **WHEN)
        session().flush()
        found = queries.effective(order, sheet).block("V1a")
        assert found is not None and found.number("anode_ohm") == 100e3


def test_what_another_amp_of_the_model_was_left_at_is_a_source(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        points.lay_out(order, sheet, **WHEN)
        meter = meters.instrument("M2")
        session().flush()
        rail = queries.points_by_node(order)["HT1"]
        readings.take(order, readings.Taken.at(rail, "410", meter, Phase.AS_LEFT, "idle", 246.0), **WHEN)
        readings.take(order, readings.Taken.at(rail, "300", meter, Phase.AS_FOUND, "idle", 246.0), **WHEN)
        session().flush()
        again = factories.order(amp=factories.amp("Tarnholt", "Meridian 30", serial="M30-0991"))
        other = sheets.begin(again, **WHEN)
        session().flush()
        (row,) = queries.compared(again, other)
        assert row.speaks is not None and row.speaks.source is Source.AS_LEFT and str(order.number) in row.speaks.words
        assert row.speaks.at_tap.value == pytest.approx(410 * 240 / 246)
        stranger = factories.order(amp=factories.amp("Marlspar", "No. 4", serial="1"))
        assert queries.compared(stranger, sheets.begin(stranger, **WHEN)) == []


def test_nothing_is_added_to_the_sheet_of_an_order_that_has_ended(app: Flask) -> None:
    with app.app_context(), transaction():
        order, sheet = whole()
        order.ended_as = "withdrawn"
        for act in (lambda: sheets.change(sheet, order, SheetFacts(), **WHEN), lambda: points.lay_out(order, sheet, **WHEN),
                    lambda: blocks.add_block(sheet, order, Kind.RAIL, "x", {}, **WHEN)):
            with pytest.raises(RuleBroken, match="has ended"):
                act()
        session().rollback()
