"""Calls and a message in the demo: one next try, one voicemail, and an outbox that sends nothing, as no mail server is set."""

from __future__ import annotations

from datetime import datetime, timedelta

from app.contact import facts, queries
from app.contact.rules import How
from app.contact.service import log, outbox, settings
from app.contact.spec import ContactFacts
from app.journal.service import Actor
from app.orders.models import RepairOrder


def keep(order: RepairOrder, other: RepairOrder, by: Actor, owner: Actor, now: datetime) -> None:
    """A quote is out: nobody answered the phone, a message waits; of another order somebody was spoken to."""
    who, before = order.authority, now - timedelta(days=2)
    number = who.phone or who.email
    log.record_contact(who, order, ContactFacts(How.NO_ANSWER, number, "", now.date()), by=by, now=before)
    log.record_contact(
        other.depositor,
        other,
        ContactFacts(How.CALLED, other.depositor.phone or other.depositor.email, "Told that the parts are ordered. Happy to wait."),
        by=by,
        now=before,
    )
    settings.add_usual_templates(by=owner, now=before)
    template = next(one for one in queries.templates() if one.name == "Papers")
    address = who.email or "customer@shop.example"
    outbox.queue(
        who,
        order,
        outbox.Draft((address,), facts.worded(template.subject, who, order), facts.worded(template.body, who, order)),
        by=by,
        now=now,
    )
