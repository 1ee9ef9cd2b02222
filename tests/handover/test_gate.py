"""What an amp lacks before it goes out, in each way it may go; and that no way round the gate is open."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from flask import Flask

from app import clock
from app.db import session, transaction
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import BadInput, GateClosed, RuleBroken
from app.handover.rules import Facts, Fate, OldPartsFate, Thing, UnrepairedFacts, missing_items, missing_items_unrepaired
from app.handover.service import going_out as going_out_service
from app.handover.service import uncollected as uncollected_service
from app.handover.service import unrepaired as unrepaired_service
from app.intake.service import sheets as sheets_service
from app.orders import service as orders
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, End, Stage
from app.removals.rules import Fate as PartFate
from app.removals.rules import OldPart
from app.safety import queries as safety
from app.safety.service import testing as testing_service
from app.shop.queries import the_shop
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand
from tests.people import BY
from tests.removals.make import removal

READY = Facts((Thing("footswitch", 1, 1), Thing("cover", 2, 1, "one was torn, thrown away as agreed")), True, 9000, 10000, True,
              True, True)
# What is taken away from a return that lacks nothing, and the sheet that is then asked for. (Rows of the gate's table in the
# design: accessories, old parts, sums, signature; that it is shown working is common practice, no source.)
LACKS = (
    ({"things": (Thing("footswitch", 1),)}, "accessories"),
    ({"things": (Thing("footswitch", 2, 1),)}, "accessories"),
    ({"old_parts": False}, "old_parts"),
    ({"due_minor": None}, "sums"),
    ({"due_minor": 10001}, "sums"),
    ({"ceiling_minor": None}, "sums"),
    ({"shown": False}, "shown"),
    ({"signed": False, "stands": False}, "sign"),
    ({"stands": False}, "sign"),
)


def test_nothing_is_missing_from_a_return_that_is_ready() -> None:
    assert missing_items(READY) == ()
    assert missing_items(replace(READY, due_minor=0, ceiling_minor=None)) == ()


@pytest.mark.parametrize(("taken", "part"), LACKS)
def test_each_thing_that_is_missing_is_asked_for(taken: dict[str, object], part: str) -> None:
    assert [lack.part for lack in missing_items(replace(READY, **taken))] == [part]


def test_an_unrepaired_amp_needs_reason_label_and_acknowledgement() -> None:
    ready = UnrepairedFacts((Thing("cover", 1, 1),), True, True, True, True)
    assert missing_items_unrepaired(ready) == ()
    assert [one.part for one in missing_items_unrepaired(UnrepairedFacts((Thing("cover", 1),)))] == [
        "unrepaired", "accessories", "old_parts", "acknowledge"]
    assert [one.part for one in missing_items_unrepaired(replace(ready, stands=False))] == ["acknowledge"]


def test_none_came_out_is_refused_while_the_ledger_has_parts_that_do_not_go_back(context: Flask) -> None:
    with transaction():
        order = factories.order()
        order.stage = Stage.RETURN
        removal(order, "C1", name="can capacitor", fate=PartFate.REPLACE, old_part=OldPart.CUSTOMER, fate_reason="leaks")
        removal(order, "B1", name="back panel")  # goes back as it is: no old part
    with pytest.raises(BadInput, match="can capacitor C1"), transaction():
        going_out_service.settle_old_parts(at(order), OldPartsFate.NONE, by=BY, now=NOW)
    with transaction():
        going_out_service.settle_old_parts(at(order), OldPartsFate.GIVEN_BACK, "can capacitor C1", by=BY, now=NOW)


def issue(order: RepairOrder, kind: Kind) -> None:
    made = make(order, paper(order, kind), now=NOW, as_page=True)
    with transaction():
        documents.issue(session().get_one(RepairOrder, order.id), made, by=BY, now=NOW)


def at(order: RepairOrder) -> RepairOrder:
    return session().get_one(RepairOrder, order.id)


def test_return_asks_for_everything_and_for_a_report_that_says_what_stands(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
    lacks = [one.endpoint for one in missing_in(order, Stage.RETURN)]
    assert sorted(lacks) == ["documents.twin", "handover.accessories", "handover.accessories", "handover.old_parts",
                             "handover.shown", "handover.sign", "handover.sums"]
    with transaction():
        hand.settle_all(at(order), 8500)
        hand.sign(at(order))
    issue(order, Kind.REPORT)
    assert missing_in(order, Stage.RETURN) == ()
    with transaction():
        hand.settle_all(at(order), 7000)
    assert {one.endpoint for one in missing_in(order, Stage.RETURN)} == {"documents.twin", "handover.sign"}


def test_no_way_releases_an_amp_whose_last_test_failed_or_is_void(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.settle_all(order, 8500)
        hand.sign(order)
    issue(order, Kind.REPORT)
    assert missing_in(order, End.REPAIRED) == ()
    with transaction():
        test = safety.last_completed(at(order))
        assert test is not None
        testing_service.void_test(test, reason="the wrong lead was tested", by=BY, now=NOW)
    assert [one.endpoint for one in missing_in(order, End.REPAIRED)] == ["safety.page"]
    for stage in IN_ORDER:
        with pytest.raises((GateClosed, RuleBroken)), transaction():
            moved = at(order)
            moved.stage = stage
            session().flush()
            going_out_service.release(moved, by=BY, now=NOW)
        assert at(order).is_open
    with pytest.raises(GateClosed), transaction():
        orders.end(at(order), End.UNREPAIRED, by=BY, now=NOW)


def test_unrepaired_is_possible_from_any_stage_and_only_past_its_gate(context: Flask) -> None:
    for stage in (Stage.INTAKE, Stage.SAFETY_TEST):
        with transaction():
            order = factories.order(amp=factories.amp(serial=stage.value))
            order.stage = stage
            sheets_service.count(order, {"cover": 1}, by=BY, now=NOW)
        with pytest.raises(GateClosed) as closed, transaction():
            unrepaired_service.give_back_unrepaired(at(order), by=BY, now=NOW)
        assert len(closed.value.missing) == 4
        with transaction():
            hand.leaves_unrepaired(at(order))
            hand.check_off(at(order))
            going_out_service.settle_old_parts(at(order), OldPartsFate.NONE, by=BY, now=NOW)
            hand.acknowledge(at(order))
        assert [one.text for one in missing_in(at(order), End.UNREPAIRED)] == ["Issue the label and tie it to the amp."]
        issue(at(order), Kind.UNREPAIRED)
        assert [one.text for one in missing_in(at(order), End.UNREPAIRED)] == [
            "Tie the label, revision 1, to the amp and record it."]
        with transaction():
            hand.tie(at(order))
            unrepaired_service.give_back_unrepaired(at(order), by=BY, now=NOW)
        assert at(order).ended_as is End.UNREPAIRED


def test_uncollected_waits_for_its_notices_and_for_a_person(context: Flask) -> None:
    today = clock.now().astimezone(the_shop().zone).date()  # the shop's day begins before the machine's
    with transaction():
        order = factories.order()
        hand.leaves_unrepaired(order)
        hand.notice(order, today - timedelta(days=13))
    assert "Wait until" in missing_in(order, End.UNCOLLECTED)[0].text
    with transaction():
        uncollected_service.strike_notice(hand.queries.notices(order.id)[0], "it came back", by=BY, now=NOW)
    assert missing_in(at(order), End.UNCOLLECTED)[0].endpoint == "handover.notice"
    with transaction():
        hand.notice(at(order), today - timedelta(days=14))
    assert [one.endpoint for one in missing_in(at(order), End.UNCOLLECTED)] == ["handover.disposal"]
    with transaction():
        uncollected_service.dispose(at(order), Fate.KEPT, "in the store",
                        "Tove, the Act as published, today", kept_until=today + timedelta(days=6 * 366), by=BY, now=NOW)
        uncollected_service.end_uncollected(at(order), by=BY, now=NOW)
    assert at(order).ended_as is End.UNCOLLECTED
