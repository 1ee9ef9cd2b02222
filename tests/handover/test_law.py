"""What the law of a place asks about uncollected amps, as dated data: who gets a notice, from when time runs, what follows.

New South Wales: Uncollected Goods Act 1995 ss 20 to 22, 26, 30. Victoria: Consumer Affairs Victoria. California: Civil Code
ss 3051, 3052; Business and Professions Code 9844.5. The addresses stand beside each rule in its file.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from flask import Flask

from app.db import session, transaction
from app.documents.paper import facts_of, paper
from app.documents.rules import Kind
from app.errors import BadInput
from app.handover import notices
from app.handover.models import CollectionNotice
from app.handover.rules import Fate, Given, Recipient, Waiting, earliest, months_on, still_to_get_one
from app.handover.service import uncollected as uncollected_service
from app.intake import terms
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.shop.jurisdictions import JURISDICTIONS
from app.shop.queries import the_shop
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make
from tests.pages import PageClient
from tests.people import BY

TODAY = NOW.date()


def ready_order(**given: Any) -> RepairOrder:
    """An order whose amp can be collected: it leaves unrepaired."""
    order = factories.order(**given)
    make.leaves_unrepaired(order, now=order.opened_at)
    return order


BOTH = Waiting(1, 28, (Recipient.DEPOSITOR, Recipient.OWNER))


def test_time_runs_from_the_day_on_which_it_was_given() -> None:
    assert earliest([Given(date(2026, 3, 2))], Waiting(1, 14)) == date(2026, 3, 16)
    given = [Given(date(2026, 3, 6), Recipient.DEPOSITOR), Given(date(2026, 3, 2), Recipient.OWNER)]
    assert earliest(given, BOTH) == date(2026, 4, 3)


def test_everybody_who_must_get_a_notice_gets_one() -> None:
    given = [Given(TODAY, Recipient.DEPOSITOR)]
    assert still_to_get_one(given, BOTH) is Recipient.OWNER and earliest(given, BOTH) is None
    assert still_to_get_one([*given, Given(TODAY, Recipient.OWNER)], BOTH) is None
    assert still_to_get_one([Given(TODAY)], BOTH) is None  # of an earlier version, which did not ask for whom


def test_a_letter_that_takes_days_counts_from_its_arrival(context: Flask) -> None:
    with transaction():
        order = to_collect()
        make.notice(order, TODAY, given_on=TODAY + timedelta(days=4), recipient=Recipient.DEPOSITOR)
        with pytest.raises(BadInput, match="before it was sent"):
            make.notice(order, TODAY, given_on=TODAY - timedelta(days=1))
        told = paper(order, Kind.NOTICE, order_notice(order.id))
    over = TODAY + timedelta(days=4 + 14)
    assert facts_of(order, Kind.NOTICE, order_notice(order.id)).over == over
    assert "unless it is first collected and the charges are paid" in told.page


def to_collect(now: datetime = NOW) -> RepairOrder:
    """An amp that can be collected: it is written why it leaves unrepaired."""
    order = factories.order(now=now)
    make.leaves_unrepaired(order, now=now)
    return order


def order_notice(order_id: int) -> int:
    return session().query(CollectionNotice).filter_by(order_id=order_id).order_by(CollectionNotice.id.desc()).first().id  # type: ignore[union-attr]


def test_in_victoria_both_get_a_notice_and_nobody_keeps_the_goods(context: Flask) -> None:
    with transaction():
        the_shop().jurisdiction = "au-vic"
        order = to_collect(NOW - timedelta(days=90))
        order.owner = factories.customer("Brae Tolland")
        session().flush()
        make.notice(order, TODAY - timedelta(days=60), jurisdiction="au-vic", recipient=Recipient.DEPOSITOR)
        assert missing_in(order, End.UNCOLLECTED)[0].text.startswith("Send the notice to the owner as well")
        make.notice(order, TODAY - timedelta(days=60), jurisdiction="au-vic", recipient=Recipient.OWNER)
        assert "write down what became" in missing_in(order, End.UNCOLLECTED)[0].text
        with pytest.raises(BadInput, match="Under it the amp may be"):
            uncollected_service.dispose(order, Fate.GIVEN, "to a school", "Odile, the Act", kept_until=TODAY, by=BY, now=NOW)
        uncollected_service.dispose(order, Fate.SOLD, "at auction, 400 dollars", "Odile, the Act", kept_until=TODAY, by=BY, now=NOW)


def test_where_nobody_answers_it_is_waited_longer_if_the_rule_says_so(context: Flask) -> None:
    with transaction():
        made = make.notice(to_collect(), TODAY, jurisdiction="au-vic", unreachable=True)
        assert made.wait_days == 90
        assert make.notice(to_collect(), TODAY, unreachable=True).wait_days == 14  # New South Wales names no other time


def test_somebody_who_is_both_gets_one_notice(context: Flask) -> None:
    with transaction():
        assert make.notice(to_collect(), TODAY, jurisdiction="au-vic").wait_to == "who left it"


@pytest.mark.parametrize(("worth", "fates", "months"), [
    (500, {Fate.SOLD, Fate.GIVEN, Fate.RECYCLED, Fate.COURT, Fate.KEPT}, 12), (5000, {Fate.SOLD, Fate.COURT, Fate.KEPT}, 72),
    (25000, {Fate.COURT, Fate.KEPT}, 72), (None, {Fate.COURT, Fate.KEPT}, 72)])
def test_the_band_of_new_south_wales_says_what_may_become_of_it_and_how_long_the_record_is_kept(
        context: Flask, worth: float | None, fates: set[Fate], months: int) -> None:
    with transaction():
        made = make.notice(to_collect(), TODAY, worth=worth)
        assert set(made.allowed) == fates and made.keep_months == months


def test_the_price_of_a_like_thing_picks_the_band_and_has_its_evidence(app: Flask, counter: PageClient) -> None:
    """Not what the amp is insured for: the declared value says nothing here."""
    with app.app_context(), transaction():
        order = to_collect()
        number = order.id
    here = f"/orders/{number}/return/uncollected/notice"
    letter = {"addressed_to": "Wren Adler", "address": "9 Tollgate Row", "how": "recorded post", "proof": "RP 4471",
              "hours": "3 Lowgate", "due_minor": "0", "recipient": Recipient.DEPOSITOR.value, "worth_minor": "400"}
    letter["given_on"] = counter.get(here).fields(here)["sent_on"]
    assert "Enter how that price was found" in counter.post(here, letter).words
    counter.post(here, {**letter, "worth_from": "three like amps at auction in March, 380 to 420 dollars"})
    with app.app_context():
        made = session().query(CollectionNotice).one()
        assert made.wait_days == 14 and made.worth_minor == 40000 and "three like amps" in made.worth_from


def test_the_notice_of_new_south_wales_says_what_section_26_asks_and_goes_to_the_depositor(context: Flask) -> None:
    rules = notices.for_jurisdiction("au-nsw")
    said = " ".join(rules.content)
    assert "On or after the date given above the goods will be disposed of unless they are first collected" in said
    assert "charges may be kept from what a sale brings" in said
    assert all(rule.to == (Recipient.DEPOSITOR,) for rule in rules.rules)


def test_in_california_there_is_no_lien_at_all_above_the_estimate(context: Flask) -> None:
    with transaction():
        order = to_collect()
        with pytest.raises(BadInput, match="no lien at all"):
            make.notice(order, TODAY, jurisdiction="us-ca", due_minor=5000, due_for="the repair")
        assert make.notice(order, TODAY, jurisdiction="us-ca").allowed == (Fate.SOLD, Fate.COURT, Fate.KEPT)
    lien = next(one for one in terms.for_jurisdiction("us-ca").paragraphs if one.head == "Lien")
    assert "no lien at all where the charges exceed the written estimate or its documented revision" in lien.text


def test_the_statement_of_california_stands_on_the_invoice_in_prominent_type(context: Flask) -> None:
    with transaction():
        the_shop().jurisdiction = "us-ca"
        order = story.quoted(story.taken_in())
        page = paper(order, Kind.REPORT).page
    assert '<div class="doc-warn"><p><strong>“An estimate as required (Section 9844' in page


@pytest.mark.parametrize("code", JURISDICTIONS)
def test_what_was_not_read_in_its_source_says_so_on_paper(context: Flask, code: str) -> None:
    given = terms.for_jurisdiction(code)
    said = terms.text_to_sign(given, shop="S", amp="A", fee="0", fee_credited=True, ceiling="0", day="today")
    for one in given.paragraphs:
        assert one.read in ("seen", "secondary", "from memory", "common practice") and one.source
        assert (f"{one.text} (Not confirmed in its source: check before you rely on it.)" in said) is one.unconfirmed
    rules = notices.for_jurisdiction(code)
    with transaction():
        the_shop().jurisdiction = code
        order = to_collect()
        make.notice(order, TODAY, jurisdiction=code)
        page = paper(order, Kind.NOTICE, order_notice(order.id)).page
    assert ("check before you rely on it" in page) is rules.for_worth(500).unconfirmed


def test_the_sentences_that_a_place_lays_down() -> None:
    for code in ("au-nsw", "au-vic", "au-qld"):  # Competition and Consumer Regulations 2010, as two law-firm notes quote them
        assert any("Refurbished parts may be used to repair the goods." in one.text and one.prescribed and one.unconfirmed
                   for one in terms.for_jurisdiction(code).paragraphs)
    assert notices.for_jurisdiction("au-qld").sign.startswith("The Disposal of Uncollected Goods Act 1967 covers")
    assert any("parts that are replaced are given back" in one.text for one in terms.for_jurisdiction("us-ny").paragraphs)
    assert any("the price is reduced" in one.text for one in terms.for_jurisdiction("uk-england").paragraphs)
    assert "31 July 2026" in terms.for_jurisdiction("eu").caution and "9 December 2026" in terms.for_jurisdiction("eu").caution


@pytest.mark.parametrize(("day", "months", "then"), [
    (date(2026, 3, 2), 12, date(2027, 3, 2)), (date(2024, 2, 29), 12, date(2025, 2, 28)),
    (date(2026, 11, 30), 72, date(2032, 11, 28)), (date(2026, 12, 5), 1, date(2027, 1, 5))])
def test_months_are_counted_by_the_calendar(day: date, months: int, then: date) -> None:
    assert months_on(day, months) == then


def test_a_notice_claims_no_sum_below_0_and_no_day_at_the_calendar_s_end(app: Flask, counter: PageClient) -> None:
    """A notice that counts as given on the calendar's last day has no end of its time, and the order no page any more."""
    with app.app_context(), transaction():
        order = to_collect()
        with pytest.raises(BadInput, match="Enter what is due, 0 for nothing"):
            make.notice(order, TODAY, due_minor=-5000, due_for="storage")
        order_id = order.id
    at = f"/orders/{order_id}/return/uncollected/notice"
    page = counter.get(at)
    assert page.fields(at)["given_on"] == ""  # a letter that is sent today is not given today
    page = counter.send(at, {**page.fields(at), "given_on": "9999-12-31", "sent_on": TODAY.isoformat(),
                             "ready_since": TODAY.isoformat(), "addressed_to": "Wren", "address": "9 Tollgate Row", "proof": "1",
                             "hours": "weekdays", "due_minor": "0"})
    assert "Enter a day from 1900 to 2199." in page.words
    with app.app_context():
        assert session().query(CollectionNotice).count() == 0
