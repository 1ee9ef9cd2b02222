"""The ledger of what came off: recording, counting, fates, ends, finds and losses. Rules: common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal import queries as journal
from app.orders.gates import missing_in
from app.orders.stages import Stage
from app.reassembly.queries.work import proposals
from app.removals import queries
from app.removals.rules import Explained, Fate, OldPart, Went
from app.removals.service import odd as odd_service
from app.removals.service import outcome as outcome_service
from app.removals.service import pieces as pieces_service
from app.removals.service import record as record_service
from tests import factories
from tests.people import BY, Cast
from tests.removals import make
from tests.removals.make import NOW

WHEN = {"by": BY, "now": NOW}


def test_a_removal_is_numbered_counted_and_journalled(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = make.removal(order, "P1", fasteners={"clip": 2}, lacked={"lock-nut": 1})
        other = make.removal(order, "P2", under=("p1",))
    assert (made.number, other.number, other.under) == (1, 2, ["P1"])
    assert queries.line_of(made, order).pieces == {"knob": 1, "nut": 1, "flat washer": 1, "toothed washer": 1, "clip": 2}
    assert len(journal.of_record("removal", made.id)) == 1


@pytest.mark.parametrize(("given", "field", "words"), [
    ({"name": " "}, "name", "Enter what came off"),
    ({"under": ("P9",)}, "under", "No removal is tagged"),
    ({"keyed": True}, "orientation", "which way its keyway"),
    ({"fate": Fate.REPLACE, "fate_reason": "track worn"}, "old_part", "where the old one goes"),
    ({"fate": Fate.SCRAP}, "fate_reason", "why it does not go back"),
])
def test_what_a_record_must_not_leave_out(context: Flask, given: dict[str, object], field: str, words: str) -> None:
    with pytest.raises(BadInput, match=words) as refused, transaction():
        make.removal(factories.order(), **given)
    assert refused.value.field == field


def test_a_tag_is_used_once_even_after_it_is_struck(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = make.removal(order, "P1")
        outcome_service.strike_removal(made, order, reason="wrong amp", **WHEN)
    assert queries.of_order(order) == [] and queries.ledger(order) == {}
    with pytest.raises(BadInput, match="on another tag"), transaction():
        make.removal(order, "p1")


def test_the_next_of_a_row_is_as_the_last_without_what_is_its_own(context: Flask) -> None:
    with transaction():
        order = factories.order()
        first = make.removal(order, "P1", keyed=True, orientation="tab up", lacked={"nut": 1})
        again = record_service.same_again(first, order, "P2", **WHEN)
        own = make.removal(order, "P3", bag=f"{order.number}-3")
        bags = [again.bag, record_service.same_again(own, order, "P4", **WHEN).bag]
    assert bags == ["bag P2", f"{order.number}-4"]
    assert (again.name, again.stack, again.place) == ("pot P2", first.stack, "front panel")
    assert (again.keyed, again.orientation, again.lacked) == (False, "", {})


def test_what_is_not_tagged_keeps_the_amp_at_the_strip_down(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "T1", stack=(), bag="", stays_on_loom=False, name="output transformer")
        make.removal(order, "P1", bag="")
        make.removal(order, "L1", stack=(), bag="", name="lamp holder")
    told = [one.text for one in missing_in(order, Stage.TEARDOWN) if one.endpoint == "removals.one"]
    assert told == ["output transformer T1: say in which bag or tray it lies, or that it stays on its loom.",
                    "pot P1: say in which bag its 4 loose pieces lie."]


def test_a_scrapped_part_takes_its_pieces_along_and_can_be_taken_back(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = make.removal(order, "F1", stack=("screw", "flat washer"), fate=Fate.SCRAP, fate_reason="cracked")
        outcome_service.end_removal(made, order, **WHEN)
    assert queries.ledger(order)["screw"] == {"removed": 1, "scrapped": 1}
    with transaction():
        outcome_service.end_removal(made, order, **WHEN)
    assert queries.ledger(order)["screw"] == {"removed": 1, "scrapped": 1}, "ending twice counts once"
    with transaction():
        outcome_service.reopen_removal(made, order, reason="it is the other one", **WHEN)
    assert queries.ledger(order)["screw"] == {"removed": 1} and made.ended_at is None


def test_what_is_on_hold_cannot_end_and_a_changed_fate_needs_its_reason(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = make.removal(order, "P1", fate=Fate.HOLD)
        with pytest.raises(RuleBroken, match="on hold"):
            outcome_service.end_removal(made, order, **WHEN)
        with pytest.raises(BadInput, match="why its disposition changes"):
            outcome_service.decide_fate(made, order, Fate.REFIT, **WHEN)
        outcome_service.decide_fate(made, order, Fate.REPLACE, reason="track worn", old_part=OldPart.CUSTOMER, **WHEN)
    assert queries.to_give_back(order) == [made]


def test_an_entry_is_struck_not_changed(context: Flask) -> None:
    with transaction():
        order = factories.order()
        entry = pieces_service.enter_pieces(order, "Lock-nut", Went.ISSUED, 2, **WHEN)
        assert queries.ledger(order) == {"lock-nut": {"issued": 2}}
        with pytest.raises(BadInput, match="why the entry is struck"):
            pieces_service.strike_entry(entry, order, reason=" ", **WHEN)
        pieces_service.strike_entry(entry, order, reason="counted twice", **WHEN)
    assert queries.ledger(order) == {} and len(queries.entries(order)) == 1


def test_a_find_joins_the_ledger_at_its_place(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = make.removal(order, "J1", lacked={"fibre washer": 1})
        washer = odd_service.found(order, "Fibre washer", place="under the board", **WHEN)
        scrap = odd_service.found(order, "solder ball", **WHEN)
        with pytest.raises(BadInput, match="Enter what shows that"):
            odd_service.explain(scrap, order, Explained.OTHER, **WHEN)
        odd_service.explain(scrap, order, Explained.OTHER, words="earlier soldering", **WHEN)
        odd_service.explain(washer, order, Explained.PLACE, removal=made, **WHEN)
        with pytest.raises(RuleBroken, match="explained already"):
            odd_service.explain(washer, order, Explained.PLACE, removal=made, **WHEN)
    assert queries.line_of(made, order).open["fibre washer"] == 1


def test_a_lost_piece_is_closed_by_finding_it_or_by_two_people(context: Flask, cast: Cast) -> None:
    ines, odd = cast.technician.actor, cast.second.actor
    with transaction():
        order = factories.order()
        made = make.removal(order, "P1")
        gone = odd_service.lost(order, "toothed washer", removal=made, by=ines, now=NOW)
        with pytest.raises(RuleBroken, match="Nobody has recorded a search"):
            odd_service.countersign(gone, order, by=odd, now=NOW)
        odd_service.searched(gone, order, how="magnet and mirror", by=ines, now=NOW)
        with pytest.raises(RuleBroken, match="someone else must search"):
            odd_service.countersign(gone, order, by=ines, now=NOW)
        assert queries.open_losses(order) == [gone]
        odd_service.countersign(gone, order, by=odd, now=NOW)
        other = odd_service.lost(order, "nut", by=ines, now=NOW)
        odd_service.find_again(other, order, where="in the sweepings", by=ines, now=NOW)
    assert queries.open_losses(order) == []
    assert queries.ledger(order)["toothed washer"] == {"removed": 1, "scrapped": 1}


def test_hardware_is_counted_by_class_however_it_is_typed(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = make.removal(order, "F1", stack=("M4x16 screw", "cup washer", "chassis"),
                            fasteners={"screw m4 × 16": 2, "Screw M4x16 ": 1, "screw": 4}, lacked={"screw M4 x 16 mm": 1})
    assert made.stack == ["screw M4 × 16", "cup washer", "chassis"]
    assert (made.fasteners, made.lacked) == ({"screw M4 × 16": 3, "screw": 4}, {"screw M4 × 16": 1})
    assert queries.ledger(order) == {"screw M4 × 16": {"removed": 4}, "cup washer": {"removed": 1}, "screw": {"removed": 4}}


def test_a_screw_that_comes_off_before_its_panel_is_tied_to_it_when_that_is_off(context: Flask) -> None:
    with transaction():
        order = factories.order()
        screw = make.removal(order, "E1", name="end screw", fixed_to="f1")
        loose = make.removal(order, "E2", name="end screw", fixed_to="chassis")
        by_name = make.removal(order, "E3", name="screw", fixed_to="front panel")
        assert screw.held_by is None
        panel = make.removal(order, "F1", name="front panel", stack=(), under=("E1", "E2"))
        assert (screw.held_by, loose.held_by, by_name.held_by) == (panel, None, panel)
        record_service.change_removal(panel, order, replace(record_service.facts_of(panel), name="fascia"), **WHEN)
        record_service.change_removal(by_name, order, replace(record_service.facts_of(by_name), note="long"), **WHEN)
        assert by_name.held_by is panel, "its words meant the panel when they were written"
        with pytest.raises(RuleBroken, match="E1, E3 refer to F1"):
            outcome_service.strike_removal(panel, order, reason="wrong amp", **WHEN)
        twin = make.removal(order, "E4", name="end screw", stack=("end screw",))
        unsure = make.removal(order, "W1", name="wire", fixed_to="end screw")
        assert unsure.held_by is None and twin.held_by is None, "two are called so"


def test_a_correction_strikes_the_tie_and_an_older_page_is_refused(context: Flask) -> None:
    with transaction():
        order = factories.order()
        over = make.removal(order, "F1", name="front panel", stack=())
        made = make.removal(order, "P1", under=("F1",), fasteners={"clip": 2})
        session().flush()
        version = made.version
        facts = record_service.facts_of(made)
        record_service.change_removal(made, order, replace(facts, fasteners={"clip": 1, "nut M3": 1}), **WHEN)
        assert made.version == version + 1 and made.fasteners == {"clip": 1, "nut M3": 1} and made.under == ["F1"]
        record_service.change_removal(made, order, replace(facts, under=(), fasteners={}), **WHEN)
        assert (made.under, made.fasteners, made.version) == ([], {}, version + 2)
        outcome_service.strike_removal(over, order, reason="wrong amp", **WHEN)
    assert [(one.to_id, one.struck_at is not None) for one in made.ties] == [(over.id, True)]
    assert {one.hardware.label: one.count for one in made.pieces} == {"clip": 0, "nut M3": 0}, "no row is deleted"


def test_a_find_is_proposed_for_the_place_that_misses_one_of_its_class(context: Flask) -> None:
    with transaction():
        order = factories.order()
        lacks = make.removal(order, "J1", lacked={"screw M4 × 16": 1})
        make.removal(order, "J2", lacked={"screw M4 × 30": 1})
        found = odd_service.found(order, "screw m4x16", **WHEN)
        assert [one.removal_id for one in proposals(order, found)] == [lacks.id]
