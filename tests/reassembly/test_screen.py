"""What the way back says and asks on its pages: why, in one tap, live and dead again, and what comes off once more."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.measuring.rules import Quantity, Statement, Verdict
from app.measuring.service import instruments as instruments_service
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts.rules import PartKind, Rating
from app.reassembly.queries.cavities import by_cavity, joints_of
from app.reassembly.queries.way import ReassemblyState, way_back
from app.reassembly.rules import kind_of
from app.reassembly.service import powered as powered_service
from app.reassembly.service import steps as steps_service
from app.removals import queries as removals
from app.removals.rules import Fate, OldPart, Side, WireEnd
from app.removals.rules import Kind as RemovedKind
from tests import factories
from tests.discharge import make as emptied
from tests.pages import PageClient
from tests.parts import make as store
from tests.people import BY
from tests.quote import make as papers
from tests.removals import make
from tests.removals.make import NOW

from .test_pages import fresh, opened, the_order
from .test_way_back import WHEN, meter, work
from .way_back_cases import front_panel, transformer


def output_stage(order: RepairOrder) -> None:
    """Two output valves in wired bases, an output transformer, under a cover."""
    for number in (4, 5):
        make.removal(order, f"V{number}", kind=RemovedKind.OUTPUT_VALVE, name=f"valve V{number}", stack=(), fixed_to=f"XV{number}",
                     bag="tray 1", stays_on_loom=False)
    make.removal(order, "COV", kind=RemovedKind.COVER, name="bottom cover", stack=(), fasteners={"screw": 4}, bag="C1",
                 stays_on_loom=False)
    for number in (4, 5):
        make.removal(order, f"XV{number}", kind=RemovedKind.VALVE_BASE, name=f"base XV{number}", stack=(), side=Side.INSIDE,
                     fasteners={"screw": 2, "nut": 2}, bag=f"X{number}", stays_on_loom=False)


def test_a_kind_brings_its_acts_and_an_output_valve_waits_for_its_bias(context: Flask) -> None:
    """Rule 4: no output valve before its bias, HT and insulation are proven (practitioners' published sequence, from memory)."""
    with transaction():
        order = factories.order()
        output_stage(order)
        way = way_back(order)
        assert {"V4.fit", "V5.fit", "LAMP", "BIAS", "HT", "OUT", "DEAD"} <= way.steps.keys()
        assert [way.kind(step) for step in ("LAMP", "BIAS", "OUT", "DEAD", "V4.fit")] == ["powered"] * 3 + ["dead", "done"]
        words = [one.words for one in way.why("V4.fit")]
        assert any("waits for" in one and "bias" in one and "no output valve before" in one for one in words)
        assert way.steps["BIAS"].powered and "V4.fit" not in {one.id for one in way.ready(NOW)}
        with pytest.raises(RuleBroken, match="comes too early"):
            steps_service.do_step(order, "V4.fit", **WHEN)
        with pytest.raises(RuleBroken, match="cannot be skipped"):
            steps_service.do_step(order, "V4.fit", forced_reason="in a hurry", **WHEN)


def test_every_joint_is_looked_at_before_the_first_power(context: Flask) -> None:
    """Look and count stand before anything live: first line of the test sequence that practitioners publish (from memory)."""
    with transaction():
        order = factories.order()
        output_stage(order)
        make.removal(order, "TB", kind=RemovedKind.TAG_BOARD, name="tag board TB", stack=(), side=Side.UNDER, bag="B1",
                     stays_on_loom=False)
        make.removal(order, "W1", kind=RemovedKind.WIRE, name="wire W1", stack=(), ends=(
            WireEnd("5", "XV4", "white"), WireEnd("u3", "TB", "white", hidden=True)))
        way = way_back(order)
        looks = {step for step, (what, _) in way.origins.items() if what in ("V", "LOOK")}
        assert len(looks) == 2
        assert all(step in before_of(way, "LAMP") for step in looks)
        why = [one for one in way.why("LAMP") if one.rule == "looked-before-power"]
        assert why and "looked at" in why[0].words


def before_of(way: ReassemblyState, step: str) -> set[str]:
    """Everything that a step waits for, directly or not."""
    found, waiting = set[str](), [step]
    while waiting:
        more = [one for one in way.steps[waiting.pop()].after if one not in found]
        found.update(more)
        waiting.extend(more)
    return found


def test_power_comes_in_stages_each_read_and_dead_again_before_hands_go_in(context: Flask) -> None:
    with transaction():
        order = factories.order()
        output_stage(order)
        instrument = meter()
        for quantity in (Quantity.VOLT_AC, Quantity.VOLT_DC, Quantity.AMP_DC):
            instruments_service.state_accuracy(instrument, Statement(quantity, 1000.0, 0.5, 2, 0.001), by=BY, now=NOW)
        session().flush()
        session().expire(instrument)
        bases = [step.id for step in way_back(order).left if way_back(order).kind(step.id) == "done" and "XV" in step.id]
        work(order, bases)
        for step in [step.id for step in way_back(order).ready(NOW) if way_back(order).kind(step.id) == "counted"]:
            work(order, [step])
        read: dict[str, Any] = {"typed": "330", "instrument": instrument, "lower": 300.0, "upper": 350.0, "basis": "drawing",
                                **WHEN}
        with pytest.raises(RuleBroken, match="Record the power-up first"):
            powered_service.read_stage(order, "LAMP", point="HT winding", **read)
        power.power_up_by_word(order, "no valves", reason="covers off, as planned", by=BY, now=NOW)
        with pytest.raises(BadInput, match="Enter what the expectation rests on"):
            powered_service.read_stage(order, "LAMP", point="HT winding", **{**read, "basis": ""})
        with pytest.raises(BadInput, match="at least, at most, or both"):
            powered_service.read_stage(order, "LAMP", point="HT winding", **{**read, "lower": None, "upper": None})
        with pytest.raises(RuleBroken, match="enter a reading first"):
            powered_service.finish_stage(order, "LAMP", **WHEN)
        low = powered_service.read_stage(order, "LAMP", point="HT winding", **{**read, "typed": "120"})
        assert low.verdict is Verdict.FAIL
        with pytest.raises(RuleBroken, match="No pass at HT winding"):
            powered_service.finish_stage(order, "LAMP", **WHEN)
        stood = instrument.calibrated_on, instrument.due_on
        instrument.calibrated_on = instrument.due_on = NOW.date() - timedelta(days=1)
        old = powered_service.read_stage(order, "LAMP", point="HT winding", **read)
        assert old.verdict is Verdict.PASS and not old.passed  # by a meter out of date
        with pytest.raises(RuleBroken, match="No pass at HT winding"):
            powered_service.finish_stage(order, "LAMP", **WHEN)
        instrument.calibrated_on, instrument.due_on = stood
        powered_service.read_stage(order, "LAMP", point="HT winding", **read)
        powered_service.finish_stage(order, "LAMP", **WHEN)
        bias = {**read, "typed": "-42", "lower": -60.0, "upper": -35.0}
        powered_service.read_stage(order, "BIAS", point="V4", **bias)
        with pytest.raises(RuleBroken, match="Still to be read, and to pass: V5"):
            powered_service.finish_stage(order, "BIAS", **WHEN)
        powered_service.read_stage(order, "BIAS", point="V5", **bias)
        assert "BIAS" in way_back(order).records
        powered_service.read_stage(order, "HT", point="reservoir", **{**read, "typed": "440", "lower": 420.0, "upper": 470.0})
        powered_service.finish_stage(order, "HT", **WHEN)
        with pytest.raises(RuleBroken, match="has been powered since"):
            steps_service.do_step(order, "V4.fit", **WHEN)
        power.power_off(order, by=BY, now=NOW + timedelta(minutes=5))
        with pytest.raises(RuleBroken, match=r"discharge it, measure and record the discharge before hands go in"):
            steps_service.do_step(order, "V4.fit", **WHEN)
        emptied.discharged(order)
        steps_service.do_step(order, "V4.fit", by=BY, now=NOW + timedelta(minutes=9))


def test_what_proves_with_the_mains_on_or_by_looking_is_never_passed_over() -> None:
    assert [kind_of((what, "")) for what in ("LOOK", "BIAS", "DEAD", "fit")] == ["counted", "powered", "dead", "done"]


def test_a_powered_step_leads_to_the_power_up_and_back(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        output_stage(order)
        meter()
        way = way_back(order)
        work(order, [step.id for step in way.left if way.kind(step.id) == "done" and "XV" in step.id])
        for step in [step.id for step in way_back(order).ready(NOW) if way_back(order).kind(step.id) == "counted"]:
            work(order, [step])
        order_id = order.id
    at = f"/orders/{order_id}"
    page = technician.get(f"{at}/way-back")
    link = next(one for one in page.links() if "/power-up?" in one)
    assert "then=way-back" in link
    form = technician.get(link)
    assert "still off the amp" not in form.words
    page = technician.send(f"{at}/power-up", {**form.fields(f"{at}/power-up"), "reason": "bench proof"})
    assert "The way back" in page.title and any("/way-back/stage/LAMP" in one for one in page.links())
    assert "Read since" not in technician.get(f"{at}/way-back/stage/LAMP").words
    page = technician.get(f"{at}/way-back/stage/LAMP")
    assert [form for form in page.all("form") if form.get("id") == "off-form"]
    page = technician.send(f"{at}/power-off", {**page.fields(f"{at}/power-off"), "then": "way-back"})
    assert "The way back" in page.title


def test_the_next_step_says_why_and_undo_and_it_differs_stand_beside_it(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1", "P2"), ("E1",), ()),
                      "IN_P1 IN_P2 BODY_P1 BODY_P2 FAS OVER_P1 OVER_P2 NUT_P1 NUT_P2 E1")
    page = technician.get(f"/orders/{order_id}/way-back")
    now = page.words[page.words.index("Now"):]
    assert re.search(r"waits for .*: align everything finger tight, then tighten", now) or "waits for" in now
    assert "It differs" in now and "Undo the last" in now
    page = technician.get(f"/orders/{order_id}/way-back/step/TIGHT_P1")
    assert "Why it comes here" in page.words and "align everything finger tight, then tighten" in page.words


def test_a_stale_done_says_who_did_it_and_when(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1", "P2"), ("E1",), ()))
    at = f"/orders/{order_id}/way-back"
    done = technician.get(at).fields(f"{at}/do/IN_P1")
    technician.send(f"{at}/do/IN_P1", done)
    page = technician.send(f"{at}/do/IN_P1", fresh(done))
    assert re.search(r"was done already by Ines, \d\d:\d\d", page.words)


def test_a_stack_turned_round_is_asked_and_put_right_by_one_tap(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        stack = ("body", "toothed washer", "chassis", "fascia", "flat washer", "nut", "knob")
        make.removal(order, "P1", stack=stack)
        order_id = order.id
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "The stack of pot P1 has its body outside and its nut inside. Turn it round?" in page.words
    where = f"{at}/answer/P1/stacks"
    page = technician.send(where, {**page.fields(where), "value": "yes"})
    assert "Turn it round" not in page.words
    with app.app_context():
        turned = removals.by_mark(the_order(order_id), "P1")
        assert turned is not None and tuple(turned.stack) == stack[::-1]


def test_in_which_base_a_valve_sits_is_asked_with_the_bases_to_tap(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        make.removal(order, "A", kind=RemovedKind.VALVE, name="12AX7", stack=(), stays_on_loom=False)
        make.removal(order, "B", kind=RemovedKind.VALVE_BASE, name="nine-pin base", stack=(), side=Side.INSIDE)
        order_id = order.id
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "In which base does 12AX7 A sit?" in page.words
    where = f"{at}/answer/A/on"
    page = technician.send(where, {**page.fields(where), "value": "B"})
    assert "In which base" not in page.words
    with app.app_context(), pytest.raises(RuleBroken, match="answered by now"):
        steps_service.answer(the_order(order_id), "A", "on", "B", **WHEN)


def test_records_that_contradict_each_other_stand_beside_the_plan_with_their_links(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        first = make.removal(order, "A", kind=RemovedKind.PART, stack=())
        make.put_under(first, make.removal(order, "B", kind=RemovedKind.PART, stack=(), under=("A",)))
        make.removal(order, "C", kind=RemovedKind.PART, stack=())
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/way-back")
    assert "contradict each other" in page.words and "0 of" in page.words
    assert len([one for one in page.links() if one.endswith("/edit")]) == 2
    assert [form for form in page.all("form") if form.get("id") == "done-form"]


def test_hidden_joints_are_one_sheet_with_pins_in_order_and_a_look_before_the_board(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        make.removal(order, "TB", kind=RemovedKind.TAG_BOARD, name="tag board", stack=(), fasteners={"screw": 4}, side=Side.INSIDE,
                     stays_on_loom=False)
        for number, pin in ((1, "10"), (2, "2")):
            make.removal(order, f"U{number}", kind=RemovedKind.WIRE, name=f"link {number}", stack=(), fixed_to="TB",
                         ends=(WireEnd(pin, colour="red", hidden=True),))
        way = way_back(order)
        assert [row.pin for row in joints_of(way, "TB", hidden=True)] == ["2", "10"]
        look = next(name for name, (what, _) in way.origins.items() if what == "LOOK")
        assert look in way.steps["TB.fit"].after and way.kind(look) == "counted"
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/way-back/joints/TB")
    assert page.words.index("link 2") < page.words.index("link 1") and "Hidden side" in page.words


def test_progress_is_told_by_cavity(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "A", kind=RemovedKind.PART, name="clip", stack=(), place="rear")
        make.removal(order, "B", kind=RemovedKind.PART, name="strap", stack=(), place="front")
        steps_service.do_step(order, "A", **WHEN)
        told = {row.name: (row.done, len(row.steps)) for row in by_cavity(way_back(order))}
        assert told["rear"] == (1, 1) and told["front"] == (0, 1)


def test_a_fate_that_changes_after_refit_reopens_in_place(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1",), (), ()), "IN_P1 BODY_P1 FAS OVER_P1 NUT_P1 ALIGN TIGHT_P1 KNOB_P1")
    with app.app_context():
        pot = removals.by_mark(the_order(order_id), "P1")
        assert pot is not None and pot.ended_at is not None
    where = f"/orders/{order_id}/way-back/reopen/{pot.id}"
    assert where in technician.get(f"/orders/{order_id}/removals/{pot.id}").links()
    page = technician.post(where, {"fate": "replace", "old_part": "customer", "fate_reason": "track is worn"})
    assert "is open again: replace with new" in page.words
    with app.app_context():
        way = way_back(the_order(order_id))
        assert {"IN_P1", "KNOB_P1"}.isdisjoint(way.records) and "FAS" in way.records


def test_new_work_before_anybody_agreed_to_it_is_asked_back(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "R6", kind=RemovedKind.PART, name="dropper R6", stack=(), fate=Fate.REPLACE, fate_reason="charred",
                     old_part=OldPart.SCRAP)
        assert order.stage is Stage.INTAKE
        with pytest.raises(BadInput, match="Nobody has agreed to the new .* yet: the order is at"):
            steps_service.do_step(order, "R6", **WHEN)
        made = steps_service.do_step(order, "R6", authority="Vera, by phone", **WHEN)
        assert made.note == "Not agreed to by then (the order is at intake), allowed by: Vera, by phone"


def test_what_the_customer_declined_is_asked_back_too(context: Flask) -> None:
    with transaction():
        order = papers.order_at()
        made = make.removal(order, "R6", kind=RemovedKind.PART, name="dropper R6", stack=(), fate=Fate.REPLACE,
                            fate_reason="charred", old_part=OldPart.SCRAP)
        line = papers.line(order)
        part = store.part(order, line.line_root_id, what="470 1 W", kind=PartKind.RESISTOR, place="R6", rating=Rating(watts=0.5))
        assert part.removal_id == made.id
        papers.issue(order)
        papers.authorise(order, declined={line.id})
        order.stage = Stage.REASSEMBLY
        session().flush()
        with pytest.raises(BadInput, match="its line of the quote was declined"):
            steps_service.do_step(order, "R6", **WHEN)


def test_move_back_offers_one_stage_first(app: Flask, owner: PageClient) -> None:
    order_id = opened(app, transformer())
    with app.app_context(), transaction():
        the_order(order_id).stage = Stage.PARTS
    page = owner.get(f"/orders/{order_id}/back")
    assert page.fields(f"/orders/{order_id}/back")["stage"] == "quote"


def test_a_step_of_a_doubtful_record_says_so_where_it_is_done(app: Flask, technician: PageClient) -> None:
    """Two circles and a stack the wrong way round: told beside the step, with both records of each circle and a cure below."""
    with app.app_context(), transaction():
        order = factories.order()
        make.removal(order, "P9", kind=RemovedKind.CONTROL, name="pot P9", place="front",
                     stack=("body", "toothed washer", "chassis", "flat washer", "nut", "knob"))
        for first, second in (("A1", "A2"), ("B1", "B2")):
            one, other = (make.removal(order, mark, kind=RemovedKind.PART, name=f"plate {mark}", stack=(), bag="b1", place="rear")
                          for mark in (first, second))
            make.put_under(one, other)
            make.put_under(other, one)
        order_id = order.id
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "Turn it round? Answer" in page.words or "correct one of them first" in page.words
    edits = [link for link in page.links() if link.endswith("/edit")]
    assert len(edits) == 4 and page.words.count("Correct what lay under what") == 2
    assert page.words.count("contradict each other") >= 2
    for _ in range(12):
        if "correct one of them first" in page.words:
            return
        step = next(one.get("action", "") for one in page.all("form") if one.get("id") == "done-form")
        page = technician.send(step, page.fields(step))
    raise AssertionError("no step of a circle says so")
