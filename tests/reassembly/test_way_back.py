"""Three strip-downs entered as records, worked back in the planned order, and what must be refused on the way.

The graphs, counts and must-fail cases: computed by a separate program; rules: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.measuring.models import Instrument
from app.measuring.rules import Kind, Quantity, State, Statement, Verdict
from app.measuring.service import instruments as instruments_service
from app.measuring.spec import InstrumentFacts
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import service as parts
from app.parts.rules import Need, PartKind
from app.reassembly import planner
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.fitting import fitted
from app.reassembly.queries.ledger import to_planner
from app.reassembly.queries.way import counts_of, records_of, way_back
from app.reassembly.queries.work import balance_at, balance_of, proposals
from app.reassembly.service import counts as counts_service
from app.reassembly.service import fitting as fitting_service
from app.reassembly.service import proofs as proofs_service
from app.reassembly.service import steps as steps_service
from app.removals import queries as removals
from app.removals.rules import Explained, Fate, Went
from app.removals.rules import Kind as RemovalKind
from app.removals.service import odd as odd_service
from app.removals.service import outcome as outcome_service
from app.removals.service import pieces as pieces_service
from tests import factories
from tests.people import BY, Cast
from tests.removals import make
from tests.removals.make import NOW

from .way_back_cases import BASE_GRAPH, CONTROLS, TRANSFORMER_GRAPH, front_panel, octal_base, panel_graph, transformer

WHEN = {"by": BY, "now": NOW}
CASES = {"panel": (front_panel(), panel_graph(CONTROLS, ("E1", "E2"), ("J1", "J2"))),
         "transformer": (transformer(), TRANSFORMER_GRAPH), "base": (octal_base(), BASE_GRAPH)}
PASSING = {"PE": "0.12", "ISO": ">200M", "IR": "500M"}


def meter() -> Instrument:
    """A meter in date that states its accuracy for ohms."""
    facts = InstrumentFacts(name="M1", kind=Kind.SAFETY_TESTER, make="Orrin 80", serial="80-114",
                                                category="CAT III",
                                      calibrated_on=NOW.date(), due_on=NOW.date() + timedelta(days=300), certificate="C1",
                                      state=State.IN_SERVICE, note="")
    made = instruments_service.add_instrument(facts, by=BY, now=NOW)
    for up_to, resolution in ((600.0, 0.01), (600e6, 1e5)):
        instruments_service.state_accuracy(made, Statement(Quantity.OHM, up_to, 1.0, 2, resolution), by=BY, now=NOW)
    session().flush()
    return made


def counted(order: RepairOrder, step: str) -> dict[tuple[str, str], int]:
    """The figures that close a count."""
    return {one.key: one.expected for one in due_at(order, way_back(order), step)}


def how_tested(order: RepairOrder, what: str) -> dict[str, Any]:
    """What an insulation test asks for besides the reading, where nothing conducts at 500 V; nothing for another reading."""
    if what != "IR":
        return {}
    if fitted(order) is None:
        fitting_service.answer_fitted(order, conducts=False, **WHEN)
        session().flush()
    return {"level": 500.0, "unplugged": True}


def work(order: RepairOrder, steps: Iterable[str], *, until: str | None = None) -> None:
    """Do steps one after another, each as its kind wants it."""
    instrument = session().scalar(sa.select(Instrument)) or meter()
    for step in steps:
        if step == until:
            return
        way = way_back(order)
        what = way.origins[step][0]
        if what in PASSING:
            assert proofs_service.measure(order, step, typed=PASSING[what], instrument=instrument, **how_tested(order, what),
                                          **WHEN).verdict is Verdict.PASS
        elif what == "V":
            assert counts_service.count_base(order, step, ends=13, counted=counted(order, step), looked=True, **WHEN).faults == []
        elif what in ("CT", "CT_cover", "CT_final"):
            ends = ends_due(way, step)
            made = counts_service.count_closure(order, step, counted=counted(order, step), ends=ends, looked=True, **WHEN)
            assert made.faults == []
        else:
            steps_service.do_step(order, step, **WHEN)


def test_the_words_of_both_rooms_are_the_same() -> None:
    assert tuple(kind.value for kind in RemovalKind) == planner.KINDS
    assert tuple(fate.value for fate in Fate) == planner.FATES


@pytest.mark.parametrize("case", CASES)
def test_a_strip_down_is_entered_and_worked_back_in_plan_order(context: Flask, case: str) -> None:
    """The records give the graph that is known, every piece is counted, and the planned order leaves nothing missing."""
    pure, graph = CASES[case]
    with transaction():
        order = factories.order()
        make.enter(order, pure)
        assert {name: set(step.after) for name, step in way_back(order).steps.items()} == graph
        off = {name: row["removed"] for name, row in removals.ledger(order).items()}
        assert off == {name: row.removed for name, row in planner.removed_pieces(pure).rows.items() if name != "wire end"}
        work(order, [step.id for step in way_back(order).left])
        assert way_back(order).finished and balance_of(order).closed
        assert missing_in(order, Stage.REASSEMBLY) == ()


@pytest.mark.parametrize(("case", "early", "words"), [
    ("panel", "OVER_J1", "comes too early: first"), ("panel", "TIGHT_S2", "Align everything"),
    ("panel", "KNOB_P2", "P2: tighten"), ("transformer", "W1", "Measure the protective earth"),
    ("transformer", "EC", "Clean the earth contact area"), ("transformer", "T", "G1"), ("base", "H1", "Tighten base V5 SK"),
    ("base", "J6", "R1"),
])
def test_a_step_too_early_is_refused_with_what_it_lacks(context: Flask, case: str, early: str, words: str) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, CASES[case][0])
        kind = way_back(order).kind(early)
        with pytest.raises(RuleBroken, match=words):
            steps_service.do_step(order, early, **WHEN)
        assert kind == "done" and not way_back(order).records


def test_the_count_closes_only_with_every_piece_and_wire_end(context: Flask) -> None:
    """54 pieces, 12 ends, an earth measured too high: each is kept as it was found and leaves its step open."""
    with transaction():
        order = factories.order()
        make.enter(order, octal_base())
        work(order, [step.id for step in way_back(order).left], until="V")
        twelve = counts_service.count_base(order, "V", ends=12, counted=counted(order, "V"), looked=True, **WHEN)
        assert (twelve.closed, twelve.faults) == (False, ["12 wire ends counted, 13 came off."])
        with pytest.raises(BadInput, match="Look inside"):
            counts_service.count_base(order, "V", ends=13, looked=False, **WHEN)
        assert "V" not in way_back(order).records and len(counts_of(order)) == 1
        assert counts_service.count_base(order, "V", ends=13, counted=counted(order, "V"), looked=True, **WHEN).closed
        assert "V" in way_back(order).records


def test_an_earth_that_reads_too_high_keeps_the_mains_leads_off(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, transformer())
        work(order, ["G1", "G2", "CL", "T", "BA", "BB", "BC", "BD", "NA", "NB", "ND", "EC", "X", "LK"])
        instrument = session().scalars(sa.select(Instrument)).one()
        with pytest.raises(RuleBroken, match="enter the reading"):
            steps_service.do_step(order, "PE", **WHEN)
        high = proofs_service.measure(order, "PE", typed="1.4", instrument=instrument, **WHEN)
        doubt = proofs_service.measure(order, "PE", typed="0.3", instrument=instrument, **WHEN)
        assert (high.verdict, doubt.verdict) == (Verdict.FAIL, Verdict.UNDECIDED)
        for reason in ("", "in a hurry"):
            with pytest.raises(RuleBroken, match="earth"):
                steps_service.do_step(order, "W1", forced_reason=reason, **WHEN)
        with pytest.raises(BadInput, match="at most 0.3 Ω. Only a tighter one"):
            proofs_service.measure(order, "PE", typed="1.4", instrument=instrument, upper=2.0, basis="it is only a little", **WHEN)
        with pytest.raises(BadInput, match="Enter what the tighter limit rests on"):
            proofs_service.measure(order, "PE", typed="0.12", instrument=instrument, upper=0.2, **WHEN)
        kept = proofs_service.measure(order, "PE", typed="0.12", instrument=instrument, upper=0.2, basis="house rule", **WHEN)
        assert (kept.upper, kept.basis, kept.verdict) == (0.2, "house rule", Verdict.PASS)
        steps_service.do_step(order, "W1", **WHEN)


def test_several_alike_are_done_as_one_after_the_other_and_all_or_none(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, transformer())
        with pytest.raises(RuleBroken, match="enter the reading"), session().begin_nested():
            steps_service.do_steps(order, ["G1", "PE"], **WHEN)
        assert list(way_back(order).records) == []
        steps_service.do_steps(order, ["G1", "G2", "CL", "T"], **WHEN)
        steps_service.do_steps(order, ["T", "BA"], **WHEN)
        assert list(way_back(order).records) == ["G1", "G2", "CL", "T", "BA"]


def test_a_corner_left_out_holds_up_what_needs_it(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, transformer())
        work(order, ["G1", "G2", "CL", "T", "BA", "BB", "BC", "BD", "NA", "NB", "EC"])
        with pytest.raises(RuleBroken, match="D: plain washer, then spring washer, then nut"):
            steps_service.do_step(order, "X", **WHEN)


def test_done_twice_is_done_once_and_undone_takes_the_proofs_after_it(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, transformer())
        work(order, ["G1", "G2", "CL", "T", "BA", "BB", "BC", "BD", "NA", "NB", "ND", "EC", "X", "LK", "PE"])
        first = steps_service.do_step(order, "LK", **WHEN)
        assert steps_service.do_step(order, "LK", **WHEN).id == first.id
        corner = removals.by_mark(order, "C")
        assert corner is not None and corner.ended_at is not None
        with pytest.raises(BadInput, match="why it is undone"):
            steps_service.undo_step(order, "LK", reason="", **WHEN)
        void = steps_service.undo_step(order, "LK", reason="lock-nut was the old one", **WHEN)
        assert [words.split(" from")[0] for words in void] == ["Measure the protective earth"]
        assert corner.ended_at is None and {"LK", "PE"}.isdisjoint(way_back(order).records)
        assert removals.line_of(corner, order).open["lock-nut"] == 1
        assert len(records_of(order, undone=True)) == 2


def test_out_of_order_needs_a_reason_and_is_recorded(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, octal_base())
        made = steps_service.do_step(order, "F1", forced_reason="retainer comes from the plater tomorrow", **WHEN)
        assert made.lacked == "SK, RT" or made.lacked == "RT, SK"
        assert "F1" in way_back(order).records


def test_another_ledger_of_the_panel_closes_class_by_class(context: Flask) -> None:
    """P3 replaced with its hardware, a fibre washer cracked; then toothed washers 10 and flat washers 14: blocked."""
    with transaction():
        order = factories.order()
        off = make.enter(order, front_panel())
        for piece in ("nut", "flat washer", "toothed washer"):
            pieces_service.enter_pieces(order, piece, Went.ISSUED, 1, removal=off["P3"], **WHEN)
            pieces_service.enter_pieces(order, piece, Went.TO_CUSTOMER, 1, removal=off["P3"], **WHEN)
        pieces_service.enter_pieces(order, "fibre washer", Went.SCRAPPED, 1, removal=off["J2"], **WHEN)
        for one in off.values():
            if one.mark == "J2":
                outcome_service.end_removal(one, order, **WHEN)
                assert removals.line_of(one, order).open == {}
                outcome_service.reopen_removal(one, order, reason="washer comes first", **WHEN)
                pieces_service.enter_pieces(order, "fibre washer", Went.ISSUED, 1, removal=one, **WHEN)
            outcome_service.end_removal(one, order, **WHEN)
        rows = removals.ledger(order)
        assert rows["nut"] == {"removed": 13, "issued": 1, "refitted": 13, "returned_to_customer": 1}
        assert rows["fibre washer"] == {"removed": 2, "issued": 1, "refitted": 2, "scrapped": 1}
        assert balance_of(order).closed
        outcome_service.reopen_removal(off["P1"], order, reason="look again", **WHEN)
        outcome_service.end_removal(off["P1"], order, pieces={"knob": 1, "nut": 1, "flat washer": 2}, **WHEN)
        assert balance_of(order).reasons == ("flat washer: 1 more than came off.", "toothed washer: 1 not accounted for.")
        told = [one.text for one in missing_in(order, Stage.REASSEMBLY) if one.endpoint == "reassembly.balance"]
        assert len(told) == 2


def test_a_jack_does_not_go_back_without_its_fibre_washer(context: Flask) -> None:
    with transaction():
        order = factories.order()
        off = make.enter(order, front_panel(("J1",), (), ("J1",)))
        pieces_service.enter_pieces(order, "fibre washer", Went.SCRAPPED, 1, removal=off["J1"], **WHEN)
        work(order, ["IN_J1", "BODY_J1", "FAS", "OVER_J1", "NUT_J1", "ALIGN"])
        with pytest.raises(RuleBroken, match="lacks 1 fibre washer"):
            steps_service.do_step(order, "TIGHT_J1", **WHEN)
        pieces_service.enter_pieces(order, "fibre washer", Went.ISSUED, 1, removal=off["J1"], **WHEN)
        steps_service.do_step(order, "TIGHT_J1", **WHEN)
        assert off["J1"].ended_at is not None and balance_of(order).closed


def test_a_changed_fate_changes_the_plan_and_says_what(context: Flask) -> None:
    with transaction():
        order = factories.order()
        off = make.enter(order, front_panel(("P1", "P2"), ("E1",), ()))
        work(order, ["IN_P1"])
        assert not way_back(order).changed
        outcome_service.decide_fate(off["P2"], order, Fate.SCRAP, reason="not needed", **WHEN)
        changed = way_back(order).changed
        assert changed and not changed.new and "P2: tighten" in changed.gone
        outcome_service.decide_fate(off["P1"], order, Fate.HOLD, reason="track to be measured", **WHEN)
        held = way_back(order)
        assert held.changed and held.changed.new == ("Decide what becomes of P1",)
        with pytest.raises(RuleBroken, match="Decide what becomes of P1 first"):
            steps_service.do_step(order, "HOLD_P1", **WHEN)
        steps_service.see_plan(held, **WHEN)
        assert not way_back(order).changed


def test_a_piece_lost_or_left_in_the_tray_keeps_it_open(context: Flask, cast: Cast) -> None:
    with transaction():
        order = factories.order()
        off = make.enter(order, front_panel(("P1",), (), ()))
        work(order, ["IN_P1", "BODY_P1", "FAS", "OVER_P1", "NUT_P1", "ALIGN", "TIGHT_P1", "KNOB_P1"])
        gone = odd_service.lost(order, "nut", removal=off["P1"], **WHEN)
        one_left = {**counted(order, "CT"), ("", "toothed washer"): 1}
        tray = counts_service.count_closure(order, "CT", counted=one_left, looked=True, **WHEN)
        assert tray.faults == ["toothed washer: 1 left in the tray, but the ledger has all fitted. Find where it is missing.",
                               "nut is lost: find it, or have a search countersigned."]
        assert {one.endpoint for one in missing_in(order, Stage.REASSEMBLY)} == {"reassembly.page", "removals.one_lost"}
        odd_service.find_again(gone, order, where="under the mat", **WHEN)
        assert counts_service.count_closure(order, "CT", counted=counted(order, "CT"), looked=True, **WHEN).closed


def test_a_find_is_paired_with_the_place_that_misses_one(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "P1")
        lacking = make.removal(order, "P2", lacked={"toothed washer": 1}, place="rear panel")
        make.removal(order, "P3", lacked={"knob": 1})
        thing = odd_service.found(order, "toothed washer", place="under the choke", **WHEN)
        assert [(one.removal_id, one.best) for one in proposals(order, thing)] == [(lacking.id, True)]
        assert "Found inside and not explained: toothed washer." in [one.text for one in missing_in(order, Stage.REASSEMBLY)]
        odd_service.explain(thing, order, Explained.PLACE, removal=lacking, **WHEN)
        assert balance_of(order).open["toothed washer"] == 4


def test_drying_runs_beside_and_holds_up_only_what_waits_for_it(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "B1", kind=RemovalKind.PART, name="board", stack=(), unattended_minutes=480.0, minutes=5.0)
        make.removal(order, "B2", kind=RemovalKind.PART, name="spacer", stack=(), under=())
        make.removal(order, "B3", kind=RemovalKind.PART, name="lid", stack=("screw",), under=())
        session().flush()
        lid = removals.by_mark(order, "B3")
        board = removals.by_mark(order, "B1")
        assert lid and board
        make.put_under(board, lid)
        steps_service.do_step(order, "B1", **WHEN)
        way = way_back(order)
        assert [one.step for one in way.running(NOW)] == ["B1"]
        assert [step.id for step in way.ready(NOW)] == ["B2"]
        with pytest.raises(RuleBroken, match="still dries"):
            steps_service.do_step(order, "B3", **WHEN)
        later = NOW + timedelta(hours=8)
        steps_service.do_step(order, "B3", by=BY, now=later)


def test_a_circle_is_explained_by_the_two_records_and_the_rest_of_the_plan_stands(context: Flask) -> None:
    with transaction():
        order = factories.order()
        first = make.removal(order, "A", kind=RemovalKind.PART, stack=())
        make.put_under(first, make.removal(order, "B", kind=RemovalKind.PART, stack=(), under=("A",)))
        make.removal(order, "C", kind=RemovalKind.PART, stack=())
        way = way_back(order)
        assert way.problem == "" and [set(one.records) for one in way.conflicts] == [{"A", "B"}]
        assert "one of the two records has it the wrong way round" in str(way.conflicts[0])
        assert {"A", "B", "C"} <= {step.id for step in way.left}
        work(order, ["C"])
        assert any("contradict each other" in one.text and one.endpoint == "removals.one"
                   for one in missing_in(order, Stage.REASSEMBLY))
        assert not way_back(order).finished


def test_the_bench_changes_hands_with_a_count(context: Flask, cast: Cast) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "P1")
        still = {"knob": 1, "nut": 1, "flat washer": 1, "toothed washer": 1}
        to = {"to_id": cast.second.id, "to_name": "Odd", "by": cast.technician.actor, "now": NOW}
        with pytest.raises(BadInput, match="nut: 0 counted, 1 by the ledger"):
            counts_service.change_technician(order, counted={**still, "nut": 0}, **to)
        with pytest.raises(BadInput, match="someone else"):
            counts_service.change_technician(order, counted=still, **{**to, "to_id": cast.technician.id})
        first = counts_service.change_technician(order, counted=still, **to)
        assert first.open == still
        with pytest.raises(RuleBroken, match="Odd has still to count"):
            counts_service.change_technician(order, counted=still, **to)
        counts_service.drop_handover(first, order, by=cast.technician.actor, now=NOW)
        assert counts_service.change_technician(order, counted={**still, "nut": 0}, note="one nut went to the plater", **to).note


def test_names_in_a_stack_find_their_own_record(context: Flask) -> None:
    """A stack may call the fascia by its name or its tag; the metal stays the metal, and only the fascia's record counts."""
    with transaction():
        order = factories.order()
        make.removal(order, "P1")
        assert to_planner(removals.of_order(order))[0].stack[3] == "fascia"
        make.removal(order, "FAS", name="Fascia", kind=RemovalKind.PANEL, stack=(), under=("P1",))
        assert to_planner(removals.of_order(order))[0].stack[2:5] == ("flat washer", "FAS", "chassis")
        assert balance_of(order).open == {"knob": 1, "nut": 1, "flat washer": 1, "toothed washer": 1}


def test_a_step_waits_for_the_new_part_of_its_place(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.removal(order, "B2", kind=RemovalKind.PART, name="board 2", stack=())
        need = parts.need(order, Need("stand-off", PartKind.HARDWARE, 4, "Board 2"), **WHEN)
        way = way_back(order)
        assert [part.id for part in way.awaits("B2")] == [need.id] and way.ready(NOW) == []
        with pytest.raises(RuleBroken, match="waits for 4 × stand-off, not ordered yet"):
            steps_service.do_step(order, "B2", **WHEN)
        parts.drop(order, need, "the old ones will do", **WHEN)
        steps_service.do_step(order, "B2", **WHEN)


def test_a_cover_and_its_screws_are_not_weighed_before_it_closes(context: Flask) -> None:
    """The count comes before the cover: the cover's own screws are neither short nor too many by then."""
    with transaction():
        order = factories.order()
        make.removal(order, "LID", kind=RemovalKind.COVER, name="lid", stack=(), fasteners={"screw": 4})
        make.removal(order, "B1", kind=RemovalKind.PART, name="board", stack=(), fasteners={"screw": 2})
        way = way_back(order)
        count = next(name for name, (what, _) in way.origins.items() if what == "CT")
        before = balance_at(order, way, count)
        assert [(row.piece, row.open, row.off) for row in before.rows] == [("screw", 2, 2)] and before.unexplained == ()
        work(order, [step.id for step in way.left])
        assert balance_of(order).closed and missing_in(order, Stage.REASSEMBLY) == ()


def test_a_new_screw_for_the_cover_does_not_weigh_before_it_closes_nor_its_screws_after(context: Flask) -> None:
    """What is entered for a place that goes on after the count belongs to the next count."""
    with transaction():
        order = factories.order()
        lid = make.removal(order, "LID", kind=RemovalKind.COVER, name="lid", stack=(), fasteners={"screw": 3})
        make.removal(order, "B1", kind=RemovalKind.PART, name="board", stack=(), fasteners={"nut": 2})
        pieces_service.enter_pieces(order, "screw", Went.ISSUED, 1, removal=lid, **WHEN)
        way = way_back(order)
        counts = {what: name for name, (what, _) in way.origins.items() if what.startswith("CT")}
        before = balance_at(order, way, counts["CT"])
        assert [(row.piece, row.open) for row in before.rows] == [("nut", 2)]
        work(order, [step.id for step in way.left])
        after = way_back(order)
        assert balance_at(order, after, counts["CT"]).closed and balance_of(order).closed


def test_a_long_screw_in_a_short_ones_place_shows_in_both_classes(context: Flask) -> None:
    """One M4 × 16 off, one M4 × 30 issued and fitted in its place, the short one scrapped by nobody: both classes stay open."""
    with transaction():
        order = factories.order()
        made = make.removal(order, "E1", kind=RemovalKind.PART, stack=(), fasteners={"screw M4x16": 1})
        pieces_service.enter_pieces(order, "screw M4 x 30", Went.REFITTED, 1, removal=made, **WHEN)
    weighed = balance_of(order)
    assert weighed.open == {"screw M4 × 16": 1, "screw M4 × 30": -1} and not weighed.closed
    assert "screw M4 × 30: 1 more than came off." in weighed.reasons
    with transaction():
        pieces_service.enter_pieces(order, "screw M4 × 30", Went.ISSUED, 1, removal=made, **WHEN)
        pieces_service.enter_pieces(order, "M4 x 16 screw", Went.SCRAPPED, 1, removal=made, note="too short", **WHEN)
    assert balance_of(order).closed
