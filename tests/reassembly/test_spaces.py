"""Cavities, several stacks, shared fixings, what an end carries, and what is new: recorded, planned and counted."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask

from app.db import transaction
from app.errors import BadInput, RuleBroken
from app.measuring.rules import Verdict
from app.orders.models import RepairOrder
from app.reassembly.queries.cavities import by_cavity
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.way import way_back
from app.reassembly.queries.work import balance_at, balances
from app.reassembly.service import counts as counts_service
from app.reassembly.service import proofs as proofs_service
from app.reassembly.service import steps as steps_service
from app.removals import queries as removals
from app.removals.models import Removal
from app.removals.rules import Fate, Kind, OldPart, Outcome, Side, WireEnd
from app.removals.service import outcome as outcome_service
from app.removals.service import record as record_service
from app.removals.stacks import Stack
from app.shop.queries import the_shop
from app.shop.wording import Pack
from tests import factories
from tests.pages import PageClient
from tests.parts import make as parts_make
from tests.people import BY
from tests.removals import make
from tests.removals.make import NOW

from .test_pages import the_order
from .test_way_back import WHEN, meter

BARE: dict[str, Any] = {"stack": (), "stays_on_loom": False}
CORNER = ("bolt", "flat washer", "chassis", "spring washer", "nut")


def closed_amp(order: RepairOrder, **plate: Any) -> None:
    """A plate over a clip and a wire in the chassis."""
    make.removal(order, "BP", kind=Kind.COVER, name="bottom plate", fasteners={"screw": 8}, cavity="cabinet", **BARE, **plate)
    make.removal(order, "C1", kind=Kind.PART, name="clip", fasteners={"screw": 1}, cavity="chassis", **BARE)
    make.removal(order, "W1", kind=Kind.WIRE, name="link", fixed_to="board 1", ends=(WireEnd("1"), WireEnd("2")), cavity="chassis",
                 **BARE)
    make.removal(order, "K1", kind=Kind.PART, name="knob on the lid", fasteners={"knob": 1}, **BARE)


# Cavities


def test_a_cavity_is_counted_with_its_own_figures_before_it_closes(context: Flask) -> None:
    with transaction():
        order = factories.order()
        closed_amp(order, closes="chassis")
        way = way_back(order)
        count = "COUNT_chassis"
        assert way.label(count) == "Count and look: chassis, before bottom plate BP closes it" and way.kind(count) == "counted"
        assert count in way.steps["BP"].after
        assert balance_at(order, way, count).open == {"screw": 1}, "the knob and the plate's own screws are not of it"
        assert ends_due(way, count) == 2
        told = [(due.bag, due.piece, due.expected) for due in due_at(order, way, count)]
        assert told == [("bag BP", "screw", 8), ("", "screw", 1)]
        for step in ("C1", "W1", "J1", "J2"):
            steps_service.do_step(order, step, **WHEN)
        due = {one.key: one.expected for one in due_at(order, way_back(order), count)}
        assert due == {("bag BP", "screw"): 8, ("", "screw"): 0}
        short = counts_service.count_closure(order, count, counted={**due, ("bag BP", "screw"): 7}, ends=2, looked=True, **WHEN)
        assert not short.closed and short.faults == ["bag BP: 7 screw counted, 8 belong there for bottom plate BP."]
        with pytest.raises(BadInput, match="Count the wire ends"):
            counts_service.count_closure(order, count, counted=due, looked=True, **WHEN)
        assert counts_service.count_closure(order, count, counted=due, ends=2, looked=True, **WHEN).closed
        steps_service.do_step(order, "BP", **WHEN)
        assert [one.name for one in balances(order)] == ["whole job", "cabinet", "chassis"]


def test_steps_are_grouped_by_the_cavity_that_was_recorded(context: Flask) -> None:
    with transaction():
        order = factories.order()
        closed_amp(order, closes="chassis")
        rows = {row.name: {step.id for step in row.steps} for row in by_cavity(way_back(order))}
        assert {"C1", "W1", "COUNT_chassis"} <= rows["chassis"] and "BP" in rows["cabinet"]


def test_a_cavity_is_spelled_as_it_was_first_and_nothing_closes_what_it_lies_in(context: Flask) -> None:
    with transaction():
        order = factories.order()
        closed_amp(order)
        one = make.removal(order, "C2", kind=Kind.PART, cavity="CHASSIS", **BARE)
        assert one.cavity == "chassis"
        with pytest.raises(BadInput, match="cannot close it") as wrong:
            make.removal(order, "BX", kind=Kind.COVER, cavity="battery box", closes="Battery Box", **BARE)
        assert wrong.value.field == "closes"
        own = make.removal(order, "BX", kind=Kind.COVER, cavity="chassis", closes="battery box", **BARE)
        assert own.closes == "battery box" and "battery box" in removals.cavities(order)
        assert make.removal(order, "R9", kind=Kind.PART, closes="chassis", **BARE).closes == "", "a part closes nothing"


def test_a_kind_brings_its_cavity_without_a_tap(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    at = f"/orders/{order_id}/removals"
    told = [("V1", "valve", [], "chassis top"), ("LS", "speaker", [], "cabinet"), ("C1", "cover", [], ""),
            ("TB", "tag_board", [], "chassis"), ("U1", "wire", ["TB"], "under TB"), ("T1", "mains_transformer", [], "chassis")]
    for mark, kind, under, cavity in told:
        blank = technician.get(f"{at}/new").fields(f"{at}/new")
        assert blank["cavity"] == "as usual"
        technician.send(f"{at}/new", {**blank, "mark": mark, "name": mark, "kind": kind, "under": under})
        with app.app_context():
            made = removals.by_mark(the_order(order_id), mark)
            assert made is not None and made.cavity == cavity
    blank = technician.get(f"{at}/new").fields(f"{at}/new")
    technician.send(f"{at}/new", {**blank, "mark": "V2", "name": "V2", "kind": "valve", "other_cavity": "valve cage"})
    blank = technician.get(f"{at}/new").fields(f"{at}/new")
    technician.send(f"{at}/new", {**blank, "mark": "V3", "name": "V3", "kind": "valve"})
    with app.app_context():
        assert [one.cavity for one in removals.of_order(the_order(order_id))][-2:] == ["valve cage", "valve cage"], "as the last"
        removal = removals.by_mark(the_order(order_id), "V3")
        assert removal is not None
    where = f"{at}/{removal.id}/edit"
    technician.send(where, technician.get(where).fields(where))
    with app.app_context():
        kept = removals.by_mark(the_order(order_id), "V3")
        assert kept is not None and kept.cavity == "valve cage", "a correction keeps it"


def test_what_a_cover_closes_is_asked_and_said_by_one_tap(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        closed_amp(order)
        order_id = order.id
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "Which cavity does bottom plate BP close?" in page.words and page.all("form", id="done-form")
    where = f"{at}/answer/BP/closes"
    page = technician.send(where, {**page.fields(where), "value": "chassis"})
    assert "Which cavity" not in page.words
    with app.app_context():
        assert "COUNT_chassis" in way_back(the_order(order_id)).steps["BP"].after
    assert "Closes" in technician.get(f"/orders/{order_id}/removals/1").words
    page = technician.get(f"{at}/all")
    assert "Count and look: chassis, before bottom plate BP closes it" in page.words


# Several stacks, shared fixings


def transformer(order: RepairOrder, **given: Any) -> Removal:
    return make.removal(order, "T1", **{
        "kind": Kind.MAINS_TRANSFORMER, "name": "mains transformer", "side": Side.TOP, "stack": CORNER, "stack_times": 3,
        "other_stacks": (Stack(1, ("bolt", "chassis", "toothed washer", "ring (captive)", "nut", "lock-nut")),), **given})


def test_three_corners_and_an_earth_corner_are_counted_and_drawn(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        made = transformer(order)
        assert removals.line_of(made, order).pieces == {
            "bolt": 4, "flat washer": 3, "spring washer": 3, "nut": 4, "toothed washer": 1, "lock-nut": 1}
        assert [step for step, (_, mark) in way_back(order).origins.items() if mark == "T1" and step.startswith("T1")] == [
            "T1.prep", "T1.fit", "T1.snug", "T1.tight", "T1.trim"]
        order_id = order.id
    at = f"/orders/{order_id}/removals"
    page = technician.get(f"{at}/1")
    assert "3 ×" in page.words and "1 ×" in page.words and page.words.count("1 bolt") == 2
    where = f"{at}/1/edit"
    fields = technician.get(where).fields(where)
    assert fields["stack_times"] == "3" and fields["other_stacks"] == (
        "1 × bolt / chassis / toothed washer / ring (captive) / nut / lock-nut")
    page = technician.send(where, {**fields, "other_stacks": "50 × bolt / nut"})
    assert "enter how many and the pieces" in page.words
    page = technician.send(where, {**fields, "stack": "", "other_stacks": "1 × bolt / nut"})
    assert "Enter the first stack above" in page.words


def test_a_bolt_that_holds_two_is_tied_to_both_and_tightened_once(context: Flask) -> None:
    with transaction():
        order = factories.order()
        bolts = make.removal(order, "B1", kind=Kind.BOLT, name="bolts", side=Side.TOP, fixed_to="L1 and BR1", stack=CORNER,
                             stack_times=2)
        assert bolts.holders == [], "nothing of it is off yet"
        make.removal(order, "L1", kind=Kind.CHOKE, name="choke", **BARE)
        assert [one.mark for one in bolts.holders] == ["L1"]
        make.removal(order, "BR1", kind=Kind.PART, name="bracket", **BARE)
        assert [one.mark for one in bolts.holders] == ["L1", "BR1"] and removals.line_of(bolts, order).pieces["bolt"] == 2
        way = way_back(order)
        once = [step.id for step in way.steps.values() if step.label.startswith("Cross-tighten")]
        assert [way.label(step) for step in once] == ["Cross-tighten choke L1 and bracket BR1"]
        with pytest.raises(RuleBroken, match="refers to BR1"):
            record = removals.by_mark(order, "BR1")
            assert record is not None
            outcome_service.strike_removal(record, order, reason="error", by=BY, now=NOW)
        facts = record_service.facts_of(bolts)
        record_service.change_removal(bolts, order, facts, by=BY, now=NOW)
        assert [one.mark for one in bolts.holders] == ["L1", "BR1"], "the same words mean what they meant"
        wire = make.removal(order, "W9", kind=Kind.WIRE, fixed_to="L1, BR1", ends=(WireEnd("1"),), **BARE)
        assert wire.holders == [], "only a fixing holds several"


# What an end carries


def test_what_an_end_carries_is_typed_told_and_asked(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        ends = (WireEnd("1", "TB", "black"), WireEnd("2", "TB", "white"), WireEnd("7", "TB", "red", carries="HT"))
        transformer(order, ends=ends)
        order_id = order.id
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "What does the lead of mains transformer T1 at TB:1 carry?" in page.words
    for number in (0, 1):
        where = f"{at}/answer/T1/end {number}"
        page = technician.send(where, {**page.fields(where.replace(" ", "%20")), "value": "mains"})
    assert "What does the lead" not in page.words
    with app.app_context():
        made = removals.by_mark(the_order(order_id), "T1")
        assert made is not None and [end.text for end in made.wire_ends] == ["TB:1 black mains", "TB:2 white mains", "TB:7 red HT"]
        way = way_back(the_order(order_id))
        assert "PE" in way.steps["T1>TB:1"].after and "J7" in way.steps["COLD"].after and way.kind("COLD") == "measured"
        with pytest.raises(RuleBroken, match="answered by now"):
            steps_service.answer(the_order(order_id), "T1", "end 0", "HT", **WHEN)


def test_a_shop_with_american_words_reads_and_writes_what_an_end_carries(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        transformer(order, ends=(WireEnd("1", "TB", "black", carries="mains"), WireEnd("7", "TB", "red", carries="HT")))
        the_shop().wording = Pack.TUBE
        order_id = order.id
    where = f"/orders/{order_id}/removals/1/edit"
    page = technician.get(where)
    fields = page.fields(where)
    assert fields["ends"].split() == ["TB:1", "black", "AC", "line", "TB:7", "red", "B+"] and "AC line" in page.words
    technician.send(where, fields)
    with app.app_context():
        made = removals.by_mark(the_order(order_id), "T1")
        assert made is not None and [end.carries for end in made.wire_ends] == ["mains", "HT"]


def test_the_ht_below_the_bleeders_path_holds_the_power(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "W1", kind=Kind.WIRE, name="lead", fixed_to="board 1", ends=(WireEnd("7", carries="HT"),), **BARE)
        for step in ("W1", "J7"):
            steps_service.do_step(order, step, **WHEN)
        with_meter = meter()
        low = proofs_service.measure(order, "COLD", typed="400", instrument=with_meter, **WHEN)
        assert low.verdict is Verdict.FAIL and low.lower == 50e3 and "COLD" not in way_back(order).records
        with pytest.raises(BadInput, match="rests on"):
            proofs_service.measure(order, "COLD", typed="400", instrument=with_meter, lower=100.0, **WHEN)
        why = "a relay coil, as drawn"
        drawn = proofs_service.measure(order, "COLD", typed="400", instrument=with_meter, lower=100.0, basis=why, **WHEN)
        assert drawn.verdict is Verdict.PASS and "COLD" in way_back(order).records


# What is new


def new_stud(order: RepairOrder, **given: Any) -> Removal:
    return make.removal(order, "ES", **{
        "kind": Kind.PROTECTIVE_EARTH, "name": "earth stud", "fate": Fate.NEW, "bag": "bag 9", "stays_on_loom": True,
        "lacked": {"nut": 1}, "stack": ("stud", "toothed washer", "chassis", "toothed washer", "ring (captive)", "nut"), **given})


def test_a_new_part_is_in_the_plan_and_its_pieces_are_issued_with_it(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = new_stud(order)
        assert (made.bag, made.stays_on_loom, made.lacked) == ("", False, {})
        assert removals.line_of(made, order).untagged == ""
        assert removals.ledger(order) == {"stud": {"issued": 1}, "toothed washer": {"issued": 2}, "nut": {"issued": 1}}
        assert removals.came_out_for_good(order) == []
        way = way_back(order)
        assert {"CL", "ES", "TIGHT_ES", "PE"} <= way.steps.keys() and way.why_unagreed("ES")
        with pytest.raises(BadInput, match="Nobody has agreed to the new"):
            steps_service.do_step(order, "CL", **WHEN)
        for step in ("CL", "ES", "TIGHT_ES"):
            steps_service.do_step(order, step, authority="Vera, by phone", **WHEN)
        assert made.ended_as is Outcome.FITTED
        assert removals.ledger(order)["toothed washer"] == {"issued": 2, "refitted": 2}
        assert all(count == 0 for count in removals.line_of(made, order).open.values())


def test_what_came_off_never_becomes_new_nor_the_other_way(context: Flask) -> None:
    with transaction():
        order = factories.order()
        stud, pot = new_stud(order), make.removal(order, "P1")
        with pytest.raises(BadInput, match="never came off: strike it out"):
            outcome_service.decide_fate(stud, order, Fate.SCRAP, reason="not needed", by=BY, now=NOW)
        with pytest.raises(BadInput, match="record what is new by itself"):
            outcome_service.decide_fate(pot, order, Fate.NEW, reason="x", by=BY, now=NOW)
        outcome_service.decide_fate(pot, order, Fate.REPLACE, reason="worn", old_part=OldPart.SCRAP, by=BY, now=NOW)


def test_a_new_part_is_recorded_by_page_and_waits_for_what_is_ordered_for_its_place(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        parts_make.part(order, place="ES", what="earth stud M5")
        order_id = order.id
    at = f"/orders/{order_id}/removals"
    assert f"{at}/new?fate=new" in technician.get(at).links()
    assert f"{at}/new?fate=new&mark=ES&name=earth+stud+M5" in technician.get(f"/orders/{order_id}/parts").links()
    page = technician.get(f"{at}/new?fate=new&mark=ES&name=earth+stud")
    fields = page.fields(f"{at}/new")
    assert "Record a new part" in page.words and (fields["fate"], fields["mark"], fields["name"]) == ("new", "ES", "earth stud")
    page = technician.send(f"{at}/new", {**fields, "kind": "protective_earth", "stack": "stud\nchassis\nnut"})
    assert "earth stud ES is new and in the way back." in page.words
    page = technician.get(f"{at}/1")
    assert "New: it never came off." in page.words and "Bag or tray" not in page.words
    assert f"{at}/1/fate" not in page.links()
    with app.app_context():
        way = way_back(the_order(order_id))
        assert [part.what for part in way.awaits("ES")] == ["earth stud M5"]
    assert "Put in the way back" not in technician.get(f"/orders/{order_id}/parts").words
