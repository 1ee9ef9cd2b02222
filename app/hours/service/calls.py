"""Calls to the customer, because the hours come near what was agreed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.hours.models import HoursCall
from app.hours.queries.outlook import order_hours
from app.hours.rules.outlook import Bar
from app.hours.rules.words import Called
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, RepairOrder
from app.orders.service import must_be_open
from app.quote import costs, queries
from app.quote.rules.lines import say_hours
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Call:
    """How it went. `ceiling_minor`: the new limit for the whole order, tax included, where they agreed to more."""

    how: Called
    reached_at: str = ""
    ceiling_minor: int | None = None
    note: str = ""


def call(order: RepairOrder, what: Call, *, by: Actor, now: datetime) -> HoursCall:
    """Record it. More money becomes an entry of the ledger, and the call names it; a limit that stays, stays."""
    must_be_open(order)
    stands = authority.ceiling(order.id)
    if stands is None:
        raise RuleBroken("Nobody has agreed to a sum yet. Record what is agreed at intake, or the answer to the quote.")
    if what.how is not Called.NOT_REACHED and not what.reached_at.strip():
        raise BadInput("Enter the number called or the address written to.", "reached_at")
    bar = order_hours(order, now).bar  # as it stands before the answer
    entry_id = _agreed_to_more(order, what, stands, by=by, now=now) if what.how is Called.MORE else None
    made = HoursCall(order_id=order.id, how=what.how, percent=_reached(bar), spent_hours=bar.spent,
                     ceiling_minor=stands, authority_id=entry_id,
                     reached_at=what.reached_at.strip(), note=what.note.strip(), at=now, by_name=by.name)
    session().add(made)
    record(Event.HOURS_CALLED, made, by=by, now=now, after={
        "answer": made.how.word, "hours spent": say_hours(made.spent_hours), "agreed until then": show(stands, the_shop().currency),
        "agreed now": show(what.ceiling_minor, the_shop().currency) if entry_id is not None and what.ceiling_minor else None,
        "reached at": made.reached_at or None, "note": made.note or None})
    return made


def _reached(bar: Bar) -> int:
    """Percent of the limit that were spent when the call was made, rounded down: it settles no threshold that is still to come."""
    return math.floor(bar.spent / bar.ceiling * 100 + 1e-6) if bar.ceiling else 101


def _agreed_to_more(order: RepairOrder, what: Call, stands: int, *, by: Actor, now: datetime) -> int:
    if what.ceiling_minor is None or what.ceiling_minor <= stands:
        raise BadInput(f"{show(stands, the_shop().currency)} is agreed already. Enter the higher limit for the whole order.",
                       "ceiling_minor")
    least = costs.committed(order)
    if what.ceiling_minor < least:
        raise BadInput(f"{show(least, the_shop().currency)} is committed already. Enter that or more.", "ceiling_minor")
    answered = queries.authorisation(order) is not None
    consent = Consent(AuthorityFor.VARIATION if answered else AuthorityFor.DIAGNOSIS, "more hours, by telephone",
                      what.ceiling_minor, Channel.PHONE, now, what.reached_at.strip(), what.note.strip())
    entry = authority.grant(order, consent, by=by, now=now)
    session().flush()
    return entry.id
