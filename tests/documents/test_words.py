"""A paper says no more than is known: drafts, amps that stay off, proofs, causes, bounds, warranty."""

from __future__ import annotations

import html
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from flask import Flask

from app.db import session, transaction
from app.documents.paper import facts_of, paper
from app.documents.rules import Kind
from app.findings.queries import findings_of
from app.findings.rules.life import Area, Confidence, Disposition
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.spec import FindingFacts
from app.intake.service import danger as danger_service
from app.measuring.rules import Phase, Quantity, Relation, say_uncertainty
from app.measuring.service import readings as readings_service
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.photos.store import the_store
from app.safety import queries as safety
from app.safety.service import testing as testing_service
from app.search import service as search
from app.shop.queries import the_shop
from app.shop.wording import Pack
from tests import factories
from tests.documents import make as story
from tests.documents.test_papers import issue, words_of
from tests.factories import NOW
from tests.handover import make as hand
from tests.measuring import make as bench
from tests.pages import PageClient
from tests.people import BY


def words(order: RepairOrder, kind: Kind = Kind.REPORT, about: int = 0) -> str:
    """What the page says, white space folded and without its tags."""
    told = re.sub(r"<title>.*?</title>|<svg.*?</svg>", " ", paper(order, kind, about).page, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", "", told)).replace("\u00a0", " "))


RUN = "Run it only into the"


# How it is to be used

def test_an_amp_that_leaves_unrepaired_is_not_told_how_to_run(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        hand.leaves_unrepaired(order)
    told = words(order)
    assert RUN not in told and "before you change a fuse" not in told
    assert "The front panel can become live: touching it can kill." in told
    assert "It must not be plugged in or switched on until someone qualified has repaired and tested it." in told
    assert "Disabled by: mains lead removed." in told


def test_an_amp_that_did_not_pass_is_not_told_how_to_run(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
    assert RUN not in words(order) and "Do not plug it in or switch it on: it has not passed a safety test." in words(order)
    with transaction():
        danger_service.impound(order, "smoke from the mains transformer", by=BY, now=NOW)
    assert "Do not switch on: smoke from the mains transformer" in words(order)


def test_an_amp_that_passed_is_told_how_to_run(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
    assert RUN in words(order) and "Do not plug it in" not in words(order)


# What is not finished is marked on every sheet

def test_a_report_is_a_draft_until_tested_and_out(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = factories.order()
    assert paper(order, Kind.REPORT).draft == "Draft: not tested, not out"
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
    assert paper(order, Kind.REPORT).draft == "Draft: not out" and "Draft: not out" in words(order)
    issued = issue(order, Kind.REPORT)
    assert issued.draft == "Draft: not out" and issued.title == "Repair report, revision 1 (draft)"
    told = words_of(the_store().get(issued.sha256), tmp_path)
    sheets = int(re.search(r"page 1 of (\d)", told)[1])  # type: ignore[index]
    assert told.count("Draft: not out") == sheets + 1 > 2  # in the head of every sheet, and on top of the first
    with transaction():
        hand.settle_all(session().get_one(RepairOrder, order.id), 8500)
        hand.sign(session().get_one(RepairOrder, order.id))
    assert paper(order, Kind.REPORT).draft == "" and "Draft" not in words(order)
    with transaction():
        test = safety.last_completed(session().get_one(RepairOrder, order.id))
        assert test is not None
        testing_service.void_test(test, reason="the wrong lead", by=BY, now=NOW)
    assert paper(order, Kind.REPORT).draft == "Draft: not tested"


def test_an_unrepaired_amp_is_marked_so_and_never_as_tested(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        hand.leaves_unrepaired(order)
    assert paper(order, Kind.REPORT).draft == "Draft: not repaired, not tested, not out"
    with transaction():
        hand.acknowledge(session().get_one(RepairOrder, order.id))
    assert paper(order, Kind.REPORT).draft == "Not repaired, not tested"


def test_draft_is_seen_where_papers_are_listed(app: Flask, technician: PageClient) -> None:
    with app.app_context():
        with transaction():
            order = story.quoted(story.taken_in())
        order_id = order.id
    assert "Draft: not tested, not out" in technician.get(f"/orders/{order_id}/papers/report").words
    page = technician.post(f"/orders/{order_id}/papers/report", {"as_page": "yes"})
    assert "Repair report, revision 1 (draft)" in page.words
    assert "Repair report, revision 1 (draft)" in technician.get(f"/orders/{order_id}/papers").words


# What was found

def test_only_a_recorded_check_is_called_fixed(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        outcome_service.act_on(findings_of(order)[0], words="New carrier.", by=BY, now=NOW)
    told = words(order)
    assert not re.search(r"put (it|them|them all) right|Cured", told)
    assert "Done, not checked yet" in told and "recorded a passed check" not in told
    assert "We found 2 things; 1 is done and not checked yet; 1 is left as it is or watched." in told
    with transaction():
        outcome_service.prove(findings_of(order)[0], result="running current read", by=BY, now=NOW)
    told = words(order)
    assert "Fixed and proved" in told and "We found 2 things and recorded a passed check for 1; 1 is left" in told


@pytest.mark.parametrize(("confidence", "wanted"), [
    (Confidence.POSSIBLE, "Possible cause: rubbed through"), (Confidence.PROBABLE, "Probable cause: rubbed through"),
    (Confidence.PROVEN, "Cause: rubbed through")])
def test_a_cause_is_said_as_surely_as_it_is_known(context: Flask, confidence: Confidence, wanted: str) -> None:
    with transaction():
        order = factories.order()
        order.stage = Stage.TEARDOWN
        facts = FindingFacts(area=Area.WIRING, observation="Bare wire.", cause="rubbed through", confidence=confidence)
        findings_service.record_finding(order, facts, by=BY, now=NOW)
    told = words(order)
    assert wanted in told and told.count("ause: rubbed") == 1


def test_nobody_ticked_a_hazard_is_not_no_danger(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        hand.leaves_unrepaired(order)
    for kind in (Kind.REPORT, Kind.UNREPAIRED):
        assert "No hazard recorded" in words(order, kind) and "o danger" not in words(order, kind)
        assert "Serious risk" in words(order, kind)


def test_ready_finding_begins_with_a_possible_cause(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.TEARDOWN
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/findings/new?code=MNS-04")
    assert page.fields(f"/orders/{order_id}/findings/new")["confidence"] == "possible"


# Readings and sources

def test_a_bound_has_no_uncertainty() -> None:
    assert say_uncertainty(12e6, Relation.IS, "Ω") == "±12 MΩ"
    assert say_uncertainty(12e6, Relation.MORE, "Ω") == say_uncertainty(1e-5, Relation.LESS, "A") == ""


def test_a_bound_is_printed_without_uncertainty(context: Flask) -> None:
    with transaction():
        order = factories.order()
        order.stage = Stage.REASSEMBLY
        tester = bench.instrument("T1", stated=story.SAFETY_METER)
        point = bench.point(order, "Insulation", quantity=Quantity.OHM, expected=None, lower=1e6, upper=None)
        taken = readings_service.Taken.at(point, ">150M", tester, Phase.AS_LEFT, "500 V", None)
        readings_service.take(order, taken, by=BY, now=NOW)
    told = words(order)
    assert "> 150 MΩ" in told and "±" not in told.split("How we proved it")[1].split("Each", 1)[0].split("Meter", 1)[0]


def test_the_name_of_a_document_is_not_said_in_other_words(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        step = next(one for one in safety.last_completed(order).steps if one.quantity)  # type: ignore[union-attr]
        step.source = "Mains and Valve Safety, clause 4"
        the_shop().wording = Pack.TUBE
    assert "Limit: Mains and Valve Safety, clause 4" in words(order)


def test_the_shops_name_is_not_said_in_other_words(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        hand.leaves_unrepaired(order, danger="The valve base is burnt.")
        the_shop().wording = Pack.TUBE
    told = words(order, Kind.UNREPAIRED)
    assert "leaves Lowgate Valve Repairs unrepaired" in told and "Tube Repairs" not in told and "tube socket is burnt" in told


# Warranty

def test_warranty_says_from_when_to_when_once_the_amp_is_out(context: Flask) -> None:
    """90 days after 2 March 2026: 29 left in March, 30 in April, 31 in May."""
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
    assert "90 days from the day of return" in words(order)
    with transaction():
        hand.settle_all(session().get_one(RepairOrder, order.id), 8500)
        hand.sign(session().get_one(RepairOrder, order.id))
    assert "2 Mar 2026 to 31 May 2026 (90 days)" in words(order)
    assert facts_of(order, Kind.REPORT).bill.work[0].warranty == (date(2026, 3, 2), date(2026, 3, 2) + timedelta(days=90))


# The words of papers

RETIRED = (  # of the words that papers spoke before, and that said too much or puzzled
    "Told from others by", "What finding out may cost", "Not above", "You hear by", "Look for danger", "reckoned", "no danger",
    "Nothing below is begun", "Taken for granted", "still as it was", "still as made", "Cured", "earlier repair set right",
    "Each verdict counts", "Committed", "Shown working", "Looked at:", "only so:", "does not leave as repaired", "Come for it",
    "may anything be done", "9 in 10", "such jobs", "put them all right", "danger)",
)


def test_papers_speak_plainly(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.settle_all(order, 8500)
        hand.sign(order)
        outcome_service.reopen(findings_of(order)[1], reason="again", by=BY, now=NOW)
        outcome_service.decide(findings_of(order)[1], Disposition.MONITOR, by=BY, now=NOW)
        hand.leaves_unrepaired(order)
        notice = hand.notice(order, NOW.date())
    said = " ".join(words(order, kind, notice.id if kind is Kind.NOTICE else 0).split("Acknowledgement")[0]
                    .split("What was signed")[0] for kind in Kind if kind not in (Kind.BILL, Kind.CREDIT, Kind.PAYMENT))
    assert [one for one in RETIRED if one in said] == []


def test_american_shop_calls_a_quote_an_estimate(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        the_shop().wording = Pack.TUBE
    ready = paper(order, Kind.ESTIMATE)
    assert ready.title.startswith("Estimate, repair") and "Estimate for your Tarnholt" in words(order, Kind.ESTIMATE)
    assert "Quote for" not in words(order, Kind.ESTIMATE)
    assert issue(order, Kind.ESTIMATE).title == "Estimate, revision 1"


def test_another_pack_leaves_what_is_found_of_papers_true(context: Flask) -> None:
    """The index of what can be found is compared with the records by verify: a setting of the shop changes no record."""
    with transaction():
        order = story.quoted(story.taken_in())
    issue(order, Kind.ESTIMATE)
    with transaction():
        the_shop().wording = Pack.TUBE
    assert list(search.differences(session())) == []
