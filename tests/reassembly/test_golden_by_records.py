"""Whole strip-downs recorded by the app's own services, planned, and held to what any right order of them keeps.

The six cases in the neutral form, but through the records that a technician can make. What cannot be kept that way is listed here
with its reason, one by one: nothing else is wrong, and nothing is right by luck alone save what is named.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import pytest
from flask import Flask

from app.db import session
from app.hardware.queries import label_of
from app.orders.models import RepairOrder
from app.reassembly.queries.way import way_back
from app.reassembly.queries.work import need_not_be_back, scope_of
from app.reassembly.rules import COUNTED, is_own
from app.reassembly.service.counts import asks_for_pieces
from app.removals import queries as removals
from app.removals.spaces import Scope
from tests import factories

from . import golden_by_records as records
from .judge import judge
from .test_golden_cases import CASES, case_of

SAFETY = "the safety test of the whole amp is a stage of its own, after this one: its gate asks for the way back to be finished"
ONE_STEP = "a lead goes in at all its ends in one step, so that it costs one tap: what one end waits for holds up the other"
SPECIAL = "what is out for this one test stands in the case's words alone; a record has no field for it"


@dataclass(frozen=True)
class Expected:
    """One case: what the bench writes beside its rows, and what of it a record cannot say, by the case's id, with the reason."""

    bench: records.Bench
    kept: int
    luck: tuple[tuple[str, str], ...] = ()
    tied: tuple[tuple[str, str], ...] = ()


EXPECTED = {
    "two_el34_head": Expected(records.Bench(proofs={("PEA", "BP"): "M10"}), 358),
    "combo_fixings_apart": Expected(records.Bench(holds={"OB": "T2, BRK"}), 253, tied=(("f7", ONE_STEP),)),
    "printed_board_combo": Expected(records.Bench(proofs={("PEA", "BX"): "MB"}), 299, (("m220", SPECIAL),), (("f9", ONE_STEP),)),
    "public_address_head": Expected(
        records.Bench(holds={"CRD": "GL"}, proofs={("PEA", "BPL"): "M10", ("PEA", "LID"): "M10b"}), 265,
        tied=(("f6", ONE_STEP), ("f7", ONE_STEP))),
    "rack_unit": Expected(
        records.Bench(holds={"SH": "VB, BR"}, proofs={("PEA", "BC"): "MB", ("LOOK", "VB"): "M13", ("PEA", "EL"): "ME",
                                                      ("PEA", "ER"): "ME"}), 187,
        (("m114", "two measurements of the plan, one of each ear, are one of the case"), ("m143", SPECIAL), ("m145", SPECIAL),
         ("m153", "that the box goes on after the discharge is nowhere recorded: it closes no mains and no valve is behind it"))),
    "single_ended_combo": Expected(records.Bench(holds={"CRD": "GL"}), 212),
}


def recorded(name: str) -> tuple[RepairOrder, records.Bench]:
    order, bench = factories.order(), EXPECTED[name].bench
    records.record(order, case_of(name), bench)
    return order, bench


def test_every_case_is_recorded() -> None:
    assert sorted(EXPECTED) == CASES


@pytest.mark.parametrize("name", CASES)
def test_a_strip_down_by_records_keeps_every_must_that_a_record_can_say(context: Flask, name: str) -> None:
    case, expected = case_of(name), EXPECTED[name]
    order, bench = recorded(name)
    verdict = judge(case, told := records.told(order, case, bench))
    assert told["conflicts"] == []
    assert (verdict.broken, verdict.never, verdict.twice) == ([], [], [])
    assert [one.split()[0] for one in verdict.luck] == [one for one, _ in expected.luck]
    assert [one.split()[0] for one in verdict.tied] == [one for one, _ in expected.tied]
    assert verdict.absent == ["('M11', 'prove') is left out"], SAFETY
    outside = [must for must in case["must"] if "M11" in (must["first"][0], must["then"][0])]
    assert verdict.kept == len(case["must"]) - len(outside) - len(expected.luck) == expected.kept


@pytest.mark.parametrize("name", ["two_el34_head", "printed_board_combo", "public_address_head"])
def test_each_cavity_is_expected_to_hold_what_the_case_counted_in_it(context: Flask, name: str) -> None:
    """The figures of a cavity are those that the case's author counted by hand, class by class."""
    order, _ = recorded(name)
    case = case_of(name)
    seen: set[str] = set()
    for row in case["counts"]:
        space = records.cavities_of(case)[row["id"]]
        own = [thing for thing in row["covers"] if thing not in seen]  # a record lies in one cavity, the innermost
        seen |= set(row["covers"])
        hand = Counter[str]()
        for thing in [*case["removals"], *case["new"]]:
            if thing["id"] in own:
                for stack in thing["stacks"]:
                    for piece in stack["outer_to_inner"]:
                        if not piece.startswith("(") and piece not in {each["id"] for each in case["removals"]}:
                            hand[label_of(piece)] += stack["times"]
        rows = removals.ledger(order, Scope(cavity=space))
        assert {piece: row.get("removed", 0) + row.get("issued", 0) for piece, row in rows.items()} == hand, space
        if own == row["covers"]:
            plain = {label_of(piece): count for piece, count in row["pieces"].items() if piece != "wire end"}
            assert hand == plain


def test_cavities_are_counted_innermost_first_and_before_they_close(context: Flask) -> None:
    order, _ = recorded("two_el34_head")
    way = way_back(order)
    assert way.plan is not None
    counts = [step.id for step in way.plan.steps if way.origins[step.id][0] == "count"]
    assert counts == ["COUNT_under TB", "COUNT_chassis", "COUNT_chassis top, before the sleeve", "COUNT_sleeve"]
    assert way.label("COUNT_chassis") == "Count and look: chassis, before bottom plate BP closes it"
    assert way.steps["BP.fit"].after and "COUNT_chassis" in way.steps["BP.fit"].after


def test_recording_costs_few_words(context: Flask) -> None:
    """What the records leave open is asked, never more than a tap or two for a whole amp. The plan stands without the answers."""
    for name in CASES:
        order, _ = recorded(name)
        way = way_back(order)
        assert len(way.questions) <= 1 and way.plan is not None
        session().rollback()


@pytest.mark.parametrize("said", [True, False], ids=["cavities said", "cavities as usual"])
@pytest.mark.parametrize("name", CASES)
def test_every_count_can_close_when_its_turn_comes(context: Flask, name: str, said: bool) -> None:
    """At a count all that is weighed in it has gone back by the plan; what goes on, or is tightened, after it is not weighed."""
    order = factories.order()
    records.record(order, case_of(name), EXPECTED[name].bench, said=said)
    way = way_back(order)
    assert way.plan is not None
    turn = {step.id: number for number, step in enumerate(way.plan.steps)}
    open_at: list[tuple[str, str, str]] = []
    for step, (what, _) in way.origins.items():
        if what in COUNTED and asks_for_pieces(way, step):
            scope, later = scope_of(way, step), need_not_be_back(way, step)
            open_at += [(step, mark, own) for own, (_, mark) in way.origins.items()
                        if mark in way.removals and mark not in later and is_own(way.origins[own][0]) and turn[own] > turn[step]
                        and scope.holds(way.removals[mark].unit, way.removals[mark].cavity)]
    assert open_at == []
