"""People and amps that the shop knows."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

from app.db import session
from app.errors import RuleBroken
from app.intake.service.writing import put, say
from app.journal.events import Event
from app.journal.service import Actor, record
from app.records.models import Amp, Customer
from app.records.spec import AmpFacts, CustomerFacts


def add_customer(facts: CustomerFacts, *, by: Actor, now: datetime) -> Customer:
    """Somebody the shop has not met before."""
    given = asdict(facts.checked())
    customer = Customer(added_at=now, **given)
    session().add(customer)
    record(Event.CUSTOMER_ADDED, customer, by=by, now=now, after=_kept(given))
    return customer


def change_customer(customer: Customer, facts: CustomerFacts, *, by: Actor, now: datetime) -> None:
    """A new number, a corrected name. RuleBroken for a person who was erased."""
    if customer.erased_at is not None:
        raise RuleBroken("This person was erased from the records. Check the amp in for a new customer instead.")
    put(customer, asdict(facts.checked()), Event.CUSTOMER_CHANGED, by=by, now=now)


def note_also(customer: Customer, also: str, *, by: Actor, now: datetime) -> None:
    """Another way to reach somebody known, as they said it at the counter: kept in the note."""
    line = f"Also reached at: {also}"
    if line not in customer.note:
        put(customer, {"note": f"{customer.note}\n{line}".strip()}, Event.CUSTOMER_CHANGED, by=by, now=now)


def add_amp(facts: AmpFacts, *, by: Actor, now: datetime) -> Amp:
    """An amp the shop has not seen before."""
    given = asdict(facts.checked())
    amp = Amp(added_at=now, **given)
    session().add(amp)
    record(Event.AMP_ADDED, amp, by=by, now=now, after=_kept(given))
    return amp


def change_amp(amp: Amp, facts: AmpFacts, *, by: Actor, now: datetime) -> None:
    """What its marks say, better read."""
    put(amp, asdict(facts.checked()), Event.AMP_CHANGED, by=by, now=now)


def _kept(given: dict[str, object]) -> dict[str, object]:
    return {name: say(value) for name, value in given.items() if say(value) is not None}
