"""Words of the log and the outbox that must not stand without what proves them: told, sent, accepted, would accept mail."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest
from flask import Flask

from app import clock
from app.contact import queries, smtp
from app.contact.models import MailRecipient
from app.contact.rules import How, MailState, Security
from app.contact.service import log, outbox, settings
from app.contact.spec import ContactFacts, ServerFacts
from app.db import session, transaction
from app.errors import RuleBroken
from app.intake.service import merging
from app.orders import due
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.records.models import Customer
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY

DRAFT = outbox.Draft(("wren@adler.example",), "Repair 1001: ready", "Hello")


def test_nobody_is_told_of_a_repair_that_is_none_of_theirs(app: Flask, counter: PageClient) -> None:
    """An address with another's repair would offer that repair's papers, and say of it that its customer was told."""
    with app.app_context(), transaction():
        order, stranger = factories.order(), factories.customer("Bo Quill", email="bo@quill.example")
        session().flush()
        with pytest.raises(RuleBroken, match="Bo Quill is not named on repair 1001"):
            log.record_contact(stranger, order, ContactFacts(How.CALLED, "1", "it is ready"), by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="Bo Quill is not named on repair 1001"):
            outbox.queue(stranger, order, DRAFT, by=BY, now=NOW)
        order.owner_id = stranger.id
        session().flush()
        log.record_contact(stranger, order, ContactFacts(How.CALLED, "1", "it is ready"), by=BY, now=NOW)
        order.owner_id = order.depositor_id
        order_id, stranger_id = order.id, stranger.id
    at = f"/contact/new?customer={stranger_id}&order={order_id}"
    counter.post(at, {"how": "called and spoke", "said": "it is ready"}, status=409, action="/contact/new")
    at = f"/contact/messages/new?customer={stranger_id}&order={order_id}"
    counter.post(at, {"to": "bo@quill.example", "subject": "Ready", "body": "Hello"}, status=409, action="/contact/messages/new")
    with app.app_context():
        assert session().query(MailRecipient).count() == 0 and len(queries.of_order(order_id)) == 1


def test_a_merged_record_is_reached_at_the_one_that_was_kept(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        kept = factories.customer("Wren Adler", phone="555 0111")
        double = factories.customer("W. Adler", phone="555 0222", email="old@adler.example")
        today = clock.now().astimezone(the_shop().zone).date()
        log.record_contact(double, None, ContactFacts(How.NO_ANSWER, next_on=today), by=BY, now=clock.now())
        merging.merge_customers(kept, double, "same person", by=BY, now=clock.now())
        kept.email = ""
        session().flush()
        for act in (lambda: log.record_contact(double, None, ContactFacts(How.CALLED, "1", "x"), by=BY, now=NOW),
                    lambda: outbox.queue(double, None, DRAFT, by=BY, now=NOW)):
            with pytest.raises(RuleBroken, match="was merged into another one"):
                act()
        kept_id, double_id = kept.id, double.id

    def tries() -> list[due.Due]:
        with app.app_context():
            return [one for one in due.due(clock.now(), the_shop().zone) if one.kind == "Next try"]

    (one,) = tries()
    assert (one.who, one.phone) == ("Wren Adler", "555 0111") and dict(one.act.values)["customer"] == kept_id
    page = counter.get(f"/contact/messages/new?customer={double_id}")
    assert "Wren Adler" in page.words and "old@adler.example" not in page.text
    counter.post(f"/contact/new?customer={double_id}", {"how": "called and spoke", "said": "it is ready"},
                 action="/contact/new")
    assert tries() == [], "a contact with the record that was kept is a later one"
    with app.app_context():
        assert session().get_one(Customer, kept_id) in {entry.customer for entry in queries.of_customer(kept_id)}


def test_what_was_told_is_not_said_to_have_been_the_collection(context: Flask) -> None:
    """Any contact after it was ready counts as the last one; that it was about the collection is not known."""
    with transaction():
        order = factories.order()
        order.stage = Stage.RETURN
        session().flush()
        log.record_contact(order.depositor, order, ContactFacts(How.THEY, "", "asked for the bill"), by=BY, now=NOW)
        session().flush()
        found = [one for one in due.due(NOW + timedelta(days=20), the_shop().zone) if one.kind == "Collection"]
        assert [one.text for one in found] == [
            "Nobody has come for the amp since the last contact about it, on 2 Mar 2026. Send the first notice."]


def test_a_test_of_the_server_of_before_says_nothing_of_the_one_that_is_set(
        app: Flask, owner: PageClient, monkeypatch: pytest.MonkeyPatch) -> None:
    first = ServerFacts("mail.shop.example", 587, Security.STARTTLS, "bench@lowgate.example")
    with app.app_context(), transaction():
        settings.set_server(first, by=BY, now=NOW)

    def changed_meanwhile(_way: smtp.Way) -> smtp.Seen:
        with app.app_context(), transaction():
            settings.set_server(ServerFacts("other.example", 587, Security.STARTTLS, "bench@lowgate.example"), by=BY, now=NOW)
        return smtp.Seen(True, "220 mail.shop.example · 250 Ok")

    monkeypatch.setattr(smtp, "look", changed_meanwhile)
    page = owner.post("/mail/test", form_on="/mail", status=409)
    assert "changed while it was tested" in page.words
    with app.app_context():
        found = queries.server()
        assert found is not None and found.host == "other.example" and not found.test_passed and found.tested_at is None


class Odd:
    """A server that answers DATA with 250: RFC 5321, 4.3.2, knows 354 alone before the text."""

    def __init__(self) -> None:
        self.sent = b""

    def has_extn(self, _name: str) -> bool:
        return False

    def mail(self, *_given: object) -> tuple[int, bytes]:
        return 250, b"Ok"

    def rcpt(self, _to: str) -> tuple[int, bytes]:
        return 250, b"Ok"

    def docmd(self, _word: str) -> tuple[int, bytes]:
        return 250, b"Ok"

    def send(self, data: bytes) -> None:
        self.sent += data

    def getreply(self) -> tuple[int, bytes]:
        return 250, b"Ok"

    @property
    def esmtp_features(self) -> dict[str, str]:
        return {}


def test_a_text_that_no_server_asked_for_is_never_accepted(monkeypatch: pytest.MonkeyPatch) -> None:
    odd = Odd()

    @contextmanager
    def conversation(_way: smtp.Way) -> Iterator[tuple[Odd, str]]:
        yield odd, "220 odd"

    monkeypatch.setattr(smtp, "_conversation", conversation)
    way, letter = smtp.Way("odd.example", 587, Security.STARTTLS), smtp.Envelope(1, "a@b.example", "c@d.example", b"NOOP")
    outcome = smtp.hand_over(way, letter, lambda: None)
    assert outcome.end is smtp.End.LATER and odd.sent == b""


def test_nothing_waits_for_somebody_who_is_erased(context: Flask) -> None:
    with transaction():
        order = factories.order()
        session().flush()
        keys = [outbox.queue(order.depositor, order, DRAFT, by=BY, now=NOW).recipients[0] for _ in range(2)]
        other = outbox.queue(factories.customer("Bo Quill"), None, DRAFT, by=BY, now=NOW).recipients[0]
        session().flush()
        settings.set_server(ServerFacts("mail.shop.example", 587, Security.STARTTLS, "bench@lowgate.example"), by=BY, now=NOW)
        assert outbox.claim(keys[0].id, NOW) is not None and keys[0].state is MailState.CONNECTING
        assert outbox.withdraw_all([order.depositor_id], "The customer was erased.", by=BY, now=NOW) == 2
        session().flush()
        assert [one.state for one in (*keys, other)] == [MailState.WITHDRAWN, MailState.WITHDRAWN, MailState.WAITING]
        with pytest.raises(RuleBroken, match="not being sent"):
            outbox.begin(keys[0].id, NOW)  # it was claimed before: its text does not go out
        assert session().get_one(RepairOrder, order.id).depositor_id == order.depositor_id
