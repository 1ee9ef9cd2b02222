"""Signed, shown and given back only for what was: nothing of the return before its stage, and a signature for its facts."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import timedelta

import pytest
from flask import Flask

from app import clock
from app.db import session, transaction
from app.documents import queries as papers
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import BadInput, GateClosed, RuleBroken
from app.handover import queries
from app.handover.gate import handed_over
from app.handover.models import ReturnSignature
from app.handover.rules import Acknowledged, Fate, HowSigned, Measure, OldPartsFate, Sent, check_made_safe
from app.handover.service import going_out, uncollected
from app.intake.service import danger as danger_service
from app.intake.service.checking_in import Place, place
from app.money.rules import Method
from app.orders import service as orders
from app.orders.gates import missing_in
from app.orders.models import Move, RepairOrder
from app.orders.stages import IN_ORDER, End, Stage
from app.quote.rules.words import LineGroup
from app.safety import queries as safety
from app.safety.service import testing as testing_service
from app.shop.queries import the_shop
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.findings import make as bench
from tests.handover import make as hand
from tests.pages import PageClient
from tests.people import BY
from tests.quote import make as quotes

LATER = NOW + timedelta(hours=3)
Act = Callable[[RepairOrder], object]
ACTS: tuple[Act, ...] = (
    lambda order: hand.check_off(order),
    lambda order: going_out.settle_old_parts(order, OldPartsFate.NONE, by=BY, now=NOW),
    lambda order: going_out.settle(order, 0, 0, Method.NOTHING, because="as a courtesy", by=BY, now=NOW),
    lambda order: going_out.show_working(order, True, by=BY, now=NOW),
    lambda order: going_out.show_working(order, False, by=BY, now=NOW),
    lambda order: hand.sign(order),
)


def at(order: RepairOrder) -> RepairOrder:
    return session().get_one(RepairOrder, order.id)


def ready() -> RepairOrder:
    order = story.repaired(story.quoted(story.taken_in()))
    hand.settle_all(order, 8500)
    return order


def arrive(order: RepairOrder, days: int) -> None:
    session().add(Move(order=order, from_stage=Stage.SAFETY_TEST, to_stage=Stage.RETURN, at=NOW + timedelta(days=days),
                       by_name="Ines"))


# Nothing before its stage

@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("stage", [one for one in IN_ORDER if one is not Stage.RETURN])
def test_nothing_of_the_return_is_recorded_before_its_stage(context: Flask, act: Act, stage: Stage) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        order.stage = stage
    with pytest.raises(GateClosed) as closed, transaction():
        act(at(order))
    assert closed.value.missing and all(one.endpoint for one in closed.value.missing)
    assert f"is at {stage.word.lower()}" in closed.value.words


def test_a_void_test_or_a_mark_bars_showing_it_and_signing(context: Flask) -> None:
    with transaction():
        order = ready()
    with transaction():
        danger_service.impound(at(order), "smoke from the mains transformer", by=BY, now=NOW)
    for act in (ACTS[3], ACTS[5]):
        with pytest.raises(GateClosed) as closed, transaction():
            act(at(order))
        assert "earlier stage is open again" in closed.value.words


def test_a_signature_comes_after_everything_else(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
    with pytest.raises(GateClosed) as closed, transaction():
        hand.sign(at(order))
    assert {one.endpoint for one in closed.value.missing} == {"handover.accessories", "handover.old_parts", "handover.sums",
                                                              "handover.shown"}


def test_what_was_shown_and_signed_does_not_outlast_a_way_back_to_the_bench(context: Flask) -> None:
    with transaction():
        order = ready()
        hand.sign(order)
    assert handed_over(order) == []
    with transaction():
        back = at(order)
        orders.move_back(back, Stage.REASSEMBLY, reason="it hums again", by=BY, now=LATER)
        back.stage = Stage.RETURN  # every gate passed a second time
        session().add(Move(order=back, from_stage=Stage.SAFETY_TEST, to_stage=Stage.RETURN, at=LATER, by_name=BY.name))
    assert [one.endpoint for one in handed_over(at(order))] == ["handover.shown", "handover.sign"]
    assert "not out" in paper(at(order), Kind.REPORT).draft


def test_pages_of_the_return_say_what_is_missing_and_where(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = story.quoted(story.taken_in()).id
    base = f"/orders/{order_id}/return"
    page = counter.get(base)
    assert "Nothing of its return is recorded before the return stage." in page.words
    assert not [link for link in page.links() if link.startswith(f"{base}/s") or link.endswith("/old-parts")]
    for sheet in ("accessories", "old-parts", "sums", "shown", "sign"):
        page = counter.get(f"{base}/{sheet}", status=409)
        assert "Nothing of its return is recorded" in page.words and page.title.startswith("Still missing")


def test_nothing_is_called_signed_before_somebody_signed(app: Flask, counter: PageClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.handover.views.going_out.must_be_finished", lambda order: None)  # held by tests of its own
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.RETURN
        number = order.id
    page = counter.get(f"/orders/{number}/return/sign")
    assert "What was signed" not in page.words and "To read" in page.words


# A signature is for facts

def test_another_name_of_the_shop_reopens_no_signature_and_another_fact_does(context: Flask) -> None:
    with transaction():
        order = ready()
        signed = hand.sign(order)
    text = signed.text
    with transaction():
        the_shop().name = "Quillfeather Valve Works"
    assert handed_over(at(order)) == [] and queries.text_to_sign(at(order)) != text
    assert queries.signature(order.id).text == text  # type: ignore[union-attr]
    with transaction():
        hand.pay(at(order), 7000, now=LATER)
    assert [one.text for one in handed_over(at(order))] == ["Something changed after the signature: have it signed again."]


def test_another_name_of_the_shop_reopens_no_acknowledgement(context: Flask) -> None:
    with transaction():
        order = story.taken_in()
        hand.leaves_unrepaired(order)
        hand.check_off(order)
        going_out.settle_old_parts(order, OldPartsFate.NONE, by=BY, now=NOW)
        hand.pay(order, 8500)
        hand.acknowledge(order)
    with transaction():
        the_shop().name = "Quillfeather Valve Works"
    assert [one.endpoint for one in missing_in(at(order), End.UNREPAIRED)] == ["documents.twin"]
    with transaction():
        hand.leaves_unrepaired(at(order), danger="It can catch fire.")
    assert "handover.acknowledge" in [one.endpoint for one in missing_in(at(order), End.UNREPAIRED)]


def test_a_signature_of_before_there_were_facts_stands_until_something_is_written(context: Flask) -> None:
    with transaction():
        order = ready()
        hand.sign(order, now=LATER)
    assert handed_over(at(order)) == []
    signed = queries.signature(order.id)
    assert signed is not None
    old = ReturnSignature(facts_version=0, facts_sha256="", at=LATER)
    assert queries.stands("received back", old, queries.to_sign(at(order)))
    with transaction():
        hand.pay(at(order), 7000, now=LATER + timedelta(minutes=1))
    assert not queries.stands("received back", old, queries.to_sign(at(order)))


def test_the_receipt_says_the_day_of_the_test_that_passed(context: Flask) -> None:
    with transaction():
        order = ready()
        signed = hand.sign(order)
    tested = safety.last_completed(order)
    assert tested is not None and "It passed the shop's safety test on 2 Mar 2026." in signed.text
    assert "issued with this signature" in signed.text
    with transaction():
        testing_service.void_test(safety.last_completed(at(order)), reason="the wrong lead", by=BY, now=LATER)  # type: ignore[arg-type]
    assert "passed the shop's safety test" not in queries.text_to_sign(at(order))


@pytest.mark.parametrize(("typed", "wrong"), [("", "Have them type their name."), ("Otto Marsh", "The typed name is not"),
                                              ("Wren Adler", "")])
def test_a_name_typed_in_person_is_a_signature(context: Flask, typed: str, wrong: str) -> None:
    with transaction():
        order = ready()
        if wrong:
            with pytest.raises(BadInput, match=wrong):
                hand.sign(order, how=HowSigned.TYPED, signature="", typed=typed)
        else:
            assert hand.sign(order, how=HowSigned.TYPED, signature="", typed=typed).signature == ""
            assert "typed, in person" in paper(order, Kind.REPORT).page


def test_a_typed_signature_by_the_page(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = ready().id
    path = f"/orders/{order_id}/return/sign"
    assert "The typed name is not" in counter.post(path, {"typed": "Somebody Else"}).words
    assert "Issue the repair report." in counter.post(path, {"typed": "wren adler"}).words
    assert "signed typed, in person" in counter.get(f"/orders/{order_id}/return").words


@pytest.mark.parametrize("witness", ["Wren Adler", "ADLER wren", "the console", "?"])
def test_whoever_refuses_or_writes_is_no_witness(context: Flask, witness: str) -> None:
    with transaction():
        order = story.taken_in()
        hand.leaves_unrepaired(order)
        with pytest.raises(BadInput) as refused:
            hand.acknowledge(order, how=Acknowledged.REFUSED, signature="", witness=witness)
    assert refused.value.field == "witness"


def test_who_refuses_to_sign_declares_nothing(context: Flask) -> None:
    with transaction():
        order = story.taken_in()
        hand.leaves_unrepaired(order)
    assert "I have read this and take the amp as it is." in queries.text_to_acknowledge(order)
    told = queries.text_to_acknowledge(order, refused_by="Wren Adler")
    assert "I have read" not in told and "This was read out to Wren Adler, who refused to sign it." in told


# The label

def test_no_text_says_that_the_label_is_tied_before_it_is(context: Flask) -> None:
    with transaction():
        order = story.taken_in()
        hand.leaves_unrepaired(order, measures=(Measure.LEAD, Measure.LABEL))  # as an earlier version kept it
    for kind in (Kind.UNREPAIRED, Kind.REPORT):
        assert "label tied" not in paper(order, kind).page and "mains lead removed" in paper(order, kind).page
    assert "label tied" not in queries.text_to_acknowledge(order)


def test_nobody_must_claim_a_label_to_write_why_it_leaves() -> None:
    check_made_safe(hand.Reason.UNSAFE, "It can kill.", (Measure.LEAD,), "")


def test_only_the_newest_label_is_tied_and_only_once(context: Flask) -> None:
    from tests.handover.test_gate import issue
    with transaction():
        order = story.taken_in()
        hand.leaves_unrepaired(order)
    issue(order, Kind.UNREPAIRED)
    with transaction():
        hand.tie(at(order))
        with pytest.raises(RuleBroken, match="recorded as tied already"):
            hand.tie(at(order))
    with transaction():
        hand.leaves_unrepaired(at(order), danger="It can catch fire.")
    first = papers.newest(order.id, Kind.UNREPAIRED)
    issue(at(order), Kind.UNREPAIRED)
    assert "Tie the label, revision 2, to the amp and record it." in [one.text for one in missing_in(at(order), End.UNREPAIRED)]
    with pytest.raises(RuleBroken, match="not the label that counts"), transaction():
        from app.documents.service import tie_label
        tie_label(at(order), first, by=BY, now=NOW)  # type: ignore[arg-type]


# Uncollected

@pytest.mark.parametrize("fate", [Fate.SOLD, Fate.GIVEN, Fate.RECYCLED])
def test_nothing_is_sold_before_its_notices_are_over(context: Flask, fate: Fate) -> None:
    today = clock.now().astimezone(the_shop().zone).date()

    def dispose() -> None:
        with transaction():
            uncollected.dispose(at(order), fate, "to a dealer for 200", "Tove, the Act, today",
                                kept_until=today + timedelta(days=3000), by=BY, now=clock.now())

    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
    with pytest.raises(GateClosed, match="is not recorded yet"):
        dispose()
    with transaction():
        hand.notice(at(order), today - timedelta(days=13))
    with pytest.raises(GateClosed) as closed:
        dispose()
    assert "Wait until" in closed.value.missing[0].text
    with transaction():
        hand.notice(at(order), today - timedelta(days=14), worth=500)
        uncollected.strike_notice(queries.notices(order.id)[0], "came back", by=BY, now=NOW)
    if fate is Fate.SOLD:  # the rule of the notice is for goods worth less than 1,000: sold, given away or recycled
        dispose()
        assert queries.disposal(order.id) is not None


def test_an_amp_is_not_ready_before_it_came_to_the_return(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        arrive(order, days=5)
    arrived = queries.ready_on(order)
    assert arrived is not None
    with pytest.raises(BadInput) as refused, transaction():
        hand.notice(at(order), arrived + timedelta(days=2), ready_since=arrived - timedelta(days=1))
    assert refused.value.field == "ready_since" and "can be collected since" in refused.value.words
    with transaction():
        hand.notice(at(order), arrived + timedelta(days=2), ready_since=arrived)
    assert len(queries.counting_notices(at(order))) == 1
    with transaction():
        arrive(at(order), days=9)
    assert queries.counting_notices(at(order)) == []  # it went back to the bench: what was written before was for another amp


def test_a_call_is_no_notice_in_writing(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        with pytest.raises(BadInput, match="in writing"):
            hand.notice(order, NOW.date() + timedelta(days=1), worth=5000, how=Sent.PHONE)
        assert hand.notice(order, NOW.date() + timedelta(days=1), worth=500, how=Sent.PHONE).number == 1


# Where it stood

def test_an_ended_order_frees_its_place_and_says_where_it_was(app: Flask, counter: PageClient) -> None:
    from tests.handover.test_gate import issue
    with app.app_context():
        with transaction():
            order = story.taken_in()
            place(order, Place("C3", NOW.date() + timedelta(days=9), NOW.date()), by=BY, now=NOW)
            hand.leaves_unrepaired(order)
            hand.check_off(order)
            going_out.settle_old_parts(order, OldPartsFate.NONE, by=BY, now=NOW)
            hand.pay(order, 8500)
            hand.acknowledge(order)
        issue(order, Kind.UNREPAIRED)
        order_id = order.id
    assert "on shelf C3" in counter.get(f"/orders/{order_id}").words
    with app.app_context(), transaction():
        hand.tie(session().get_one(RepairOrder, order_id))
        orders.end(session().get_one(RepairOrder, order_id), End.UNREPAIRED, by=BY, now=NOW)
    page = counter.get(f"/orders/{order_id}")
    assert "was at C3" in page.words and "on shelf C3" not in page.words
    assert "Intake, ended here, returned unrepaired" in page.words or "ended here, returned unrepaired" in page.words
    assert "is-made_off" not in page.text and page.text.count("is-open") == 6 and page.text.count("is-barred") == 1
    with app.app_context():
        assert session().get_one(RepairOrder, order_id).shelf == ""


def test_text_is_kept_as_it_was_read(context: Flask) -> None:
    with transaction():
        order = ready()
        signed = hand.sign(order)
    assert signed.text_sha256 == hashlib.sha256(signed.text.encode()).hexdigest()
    assert signed.facts_version == 2 and signed.facts_sha256 == queries.fingerprint_to_sign(order)


def test_whoever_takes_it_reads_what_safety_work_was_declined(context: Flask) -> None:
    """A safety test passes an amp by its readings; what it passed with is said beside it."""
    with transaction():
        order = quotes.order_at()
        hazard = bench.finding(order)
        line = quotes.line(order, group=LineGroup.SAFETY, what="New mains lead with its earth", finding_id=hazard.id)
        quotes.issue(order)
        quotes.authorise(order, declined=[line.id])
        assert [one.split(" (")[0] for one in queries.to_sign(order).declined] == ["New mains lead with its earth"]
        text = queries.text_to_sign(order)
    assert "Declined, and not done: New mains lead with its earth" in text and "The hazard stands." in text
