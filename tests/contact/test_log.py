"""The contact log: two taps from an order, prefilled with person and number; struck out with a reason, never changed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask import Flask

from app.contact import queries
from app.contact.rules import How
from app.contact.service import log
from app.contact.spec import ContactFacts
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal import service as journal
from app.orders.models import RepairOrder
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY

TODAY = NOW.date()


def an_order(app: Flask) -> int:
    with app.app_context(), transaction():
        return factories.order(customer=factories.customer(email="wren@adler.example")).id


def test_two_taps_from_the_order_and_the_person_and_number_stand_there(app: Flask, counter: PageClient) -> None:
    order_id = an_order(app)
    page = counter.get(f"/orders/{order_id}")
    assert {"tel:5550199", "sms:5550199", "mailto:wren@adler.example"} <= set(page.links())
    (link,) = [one for one in page.links() if one.startswith("/contact/new")]
    form = counter.get(link)
    assert form.fields("/contact/new")["reached_at"] == "555 0199" and "Wren Adler" in form.words
    counter.send(
        link, {**form.fields("/contact/new"), "how": "called, no answer", "next_on": "2030-01-02"}, status=303, follow=False
    )
    after = counter.get(f"/orders/{order_id}").words
    assert "Called, no answer" in after and "try again on 2 Jan 2030" in after
    with app.app_context():
        assert journal.verify() == []


def test_nobody_spoke_to_anybody_before_it_is_chosen(app: Flask, counter: PageClient) -> None:
    order_id = an_order(app)
    (link,) = [one for one in counter.get(f"/orders/{order_id}").links() if one.startswith("/contact/new")]
    fields = counter.get(link).fields("/contact/new")
    assert "how" not in fields
    assert "Choose what happened." in counter.send(link, {**fields, "said": "it is ready"}).words


@pytest.mark.parametrize(
    ("given", "field"),
    [({"how": How.CALLED, "said": " "}, "said"), ({"how": How.NO_ANSWER, "next_on": TODAY - timedelta(days=1)}, "next_on")],
)
def test_what_an_entry_must_say(context: Flask, given: dict[str, object], field: str) -> None:
    with transaction():
        who = factories.customer()
        with pytest.raises(BadInput) as refused:
            log.record_contact(who, None, ContactFacts(**given), by=BY, now=NOW)  # type: ignore[arg-type]
        assert refused.value.field == field


def test_an_entry_is_struck_out_with_a_reason_and_stays(context: Flask) -> None:
    with transaction():
        who = factories.customer()
        entry = log.record_contact(who, None, ContactFacts(How.LETTER, "Harrowmere", "the notice"), by=BY, now=NOW)
        with pytest.raises(BadInput):
            log.strike_contact(entry, " ", by=BY, now=NOW)
        log.strike_contact(entry, "wrong person", by=BY, now=NOW)
        with pytest.raises(RuleBroken):
            log.strike_contact(entry, "again", by=BY, now=NOW)
        session().flush()
        assert [(one.said, one.struck_reason) for one in queries.of_customer(who.id)] == [("the notice", "wrong person")]


def test_nothing_more_is_recorded_of_somebody_who_was_erased(context: Flask) -> None:
    with transaction():
        who = factories.customer()
        who.erased_at = NOW
        with pytest.raises(RuleBroken, match="erased"):
            log.record_contact(who, None, ContactFacts(How.NO_ANSWER), by=BY, now=NOW)


def test_a_message_is_written_from_a_template_with_the_order_s_facts(app: Flask, counter: PageClient, owner: PageClient) -> None:
    order_id = an_order(app)
    owner.post("/mail/templates/usual", form_on="/mail")
    page = counter.get(f"/contact/messages/new?order={order_id}")
    (link,) = [
        one.get("href", "") for one in page.all("a") if "template=" in one.get("href", "") and "Ready" in "".join(one.itertext())
    ]
    form = counter.get(link)
    fields = form.fields("/contact/messages/new")
    assert (
        fields["subject"] == "Repair 1001: your Tarnholt Meridian 30 is ready to collect" and fields["to"] == "wren@adler.example"
    )
    assert "Hello Wren Adler," in fields["body"] and "Lowgate Valve Repairs" in fields["body"]
    sent = counter.send(link, fields, status=303, follow=False)
    shown = counter.get(sent.response.headers["Location"]).words
    assert "waiting" in shown and "No mail server is set" in shown and "accepted" not in shown
    quote = next(
        one.get("href", "") for one in page.all("a") if "template=" in one.get("href", "") and "Quote" in "".join(one.itertext())
    )
    fields = counter.get(quote).fields("/contact/messages/new")
    refused = counter.send(quote, fields)
    assert "the total of the quote, tax included is not known here" in refused.words  # no quote is issued yet
    with app.app_context():
        order = session().get(RepairOrder, order_id)
        assert order is not None and len(queries.messages_of(order.id)) == 1
