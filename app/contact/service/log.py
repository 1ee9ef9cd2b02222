"""Keeping the contact log. An entry is never changed: a wrong one is struck out with its reason."""

from __future__ import annotations

from datetime import datetime

from app.contact.models import ContactEntry
from app.contact.spec import ContactFacts
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.spec import columns, journal_facts
from app.orders.models import RepairOrder
from app.records.models import Customer
from app.shop.queries import the_shop


def record_contact(customer: Customer, order: RepairOrder | None, facts: ContactFacts, *, by: Actor, now: datetime) -> ContactEntry:
    """Write down that somebody was reached, or was not. RuleBroken for a person who was erased, or is not named on the repair."""
    if customer.erased_at is not None:
        raise RuleBroken("This customer was erased: nothing more is recorded about them.")
    must_be_named(customer, order)
    known = facts.checked(now.astimezone(the_shop().zone).date())
    made = ContactEntry(customer_id=customer.id, order_id=order.id if order else None, **columns(known), at=now, by_name=by.name)
    session().add(made)
    record(Event.CONTACT_RECORDED, made, by=by, now=now, after={"who": customer.name, **journal_facts(known, ContactFacts)})
    return made


def must_be_named(customer: Customer, order: RepairOrder | None) -> None:
    """RuleBroken for a record that was merged into another, and for somebody with whom this repair has nothing to do."""
    if customer.merged_into_id is not None:
        raise RuleBroken(f"This record of {customer.name} was merged into another one. Open the record that was kept.")
    if order is not None and customer.id not in (order.depositor_id, order.owner_id, order.authority_id):
        raise RuleBroken(f"{customer.name} is not named on repair {order.number}. Open the page of someone who is, or of the "
                         "customer alone.")


def strike_contact(entry: ContactEntry, reason: str, *, by: Actor, now: datetime) -> None:
    """Strike an entry out: it stays readable, and makes nothing due any more."""
    if not reason.strip():
        raise BadInput("Enter why it is struck out.", "reason")
    if entry.struck_at is not None:
        raise RuleBroken("This entry is struck out already.")
    entry.struck_at, entry.struck_by, entry.struck_reason = now, by.name, reason.strip()
    record(Event.CONTACT_STRUCK, entry, by=by, now=now, before={"how": entry.how.value, "said": entry.said}, reason=reason.strip())
