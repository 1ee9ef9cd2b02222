"""The authority ledger of an order: who agreed to what ceiling, when and how. Intake writes the first, quotes add.

The newest entry that stands is the ceiling, see `governing`. Committed cost is compared with it at every change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.orders.models import AuthorityFor, Channel, CostAuthority, RepairOrder
from app.orders.service import must_be_open, must_be_open_still
from app.records.models import Customer
from app.request_cache import cached_until_write
from app.shop.queries import the_shop

CLOCKS_DIFFER = timedelta(minutes=5)


@dataclass(frozen=True)
class Consent:
    """What somebody agreed to: the purpose, in words, the ceiling for the whole order in minor units, and how.

    `reached_at` is the number called or the address written to; needed for phone and e-mail.
    """

    covers: AuthorityFor
    what_for: str
    ceiling_minor: int
    channel: Channel
    agreed_at: datetime
    reached_at: str = ""
    note: str = ""


def grant(order: RepairOrder, consent: Consent, *, by: Actor, now: datetime) -> CostAuthority:
    """Write down what the person who may approve cost agreed to. BadInput if a fact of the consent is missing."""
    must_be_open(order)
    _check(consent, now)
    entry = CostAuthority(order_id=order.id, covers=consent.covers, what_for=consent.what_for.strip(),
                          ceiling_minor=consent.ceiling_minor, agreed_by_id=order.authority_id,
                          agreed_by=order.authority.name, channel=consent.channel, reached_at=consent.reached_at.strip(),
                          agreed_at=consent.agreed_at,
                          taken_by=by.name, note=consent.note.strip())
    standing = newest(order.id, consent.covers)
    session().add(entry)
    record(Event.AUTHORITY_RECORDED, entry, by=by, now=now,
           before={"ceiling": _sum(standing.ceiling_minor) if standing else None},
           after={"ceiling": _sum(entry.ceiling_minor), "for": entry.what_for, "agreed by": entry.agreed_by,
                  "channel": entry.channel.value, "reached at": entry.reached_at or None})
    return entry


def withdraw(entry: CostAuthority, reason: str, *, by: Actor, now: datetime) -> None:
    """An entry that was written down wrongly: it stays readable and no longer counts."""
    must_be_open_still(entry.order_id)
    if not reason.strip():
        raise BadInput("Enter why this entry does not count.", "reason")
    if entry.withdrawn_at is not None:
        raise BadInput("This entry was withdrawn before.")
    entry.withdrawn_at, entry.withdrawn_reason = now, reason.strip()
    record(Event.AUTHORITY_WITHDRAWN, entry, by=by, now=now, before={"counts": True}, after={"counts": False},
           reason=entry.withdrawn_reason)


@cached_until_write
def ledger(order_id: int) -> Sequence[CostAuthority]:
    """Every entry, oldest first, withdrawn ones too."""
    return session().scalars(sa.select(CostAuthority).where(CostAuthority.order_id == order_id).order_by(CostAuthority.id)).all()


def newest(order_id: int, covers: AuthorityFor | None = None) -> CostAuthority | None:
    """The newest entry that stands, of this kind if one is named."""
    standing = (entry for entry in reversed(ledger(order_id)) if entry.withdrawn_at is None)
    return next((entry for entry in standing if covers is None or entry.covers is covers), None)


def governing(order_id: int) -> CostAuthority | None:
    """The entry that counts: the newest of those for the work itself, else the newest for diagnosis.

    A diagnosis agreed to later never lowers what was agreed for the repair.
    """
    standing = [entry for entry in ledger(order_id) if entry.withdrawn_at is None]
    counting = [entry for entry in standing if entry.covers is not AuthorityFor.DIAGNOSIS] or standing
    return counting[-1] if counting else None


def agreed_by_another(order: RepairOrder) -> str:
    """The name of whoever agreed to what counts, if that is not the person who approves cost now; empty if it is, or for nothing.

    Two records that were merged are one person.
    """
    found = governing(order.id)
    if found is None or found.agreed_by_id == order.authority_id:
        return ""
    kept = session().scalar(sa.select(Customer.merged_into_id).where(Customer.id == found.agreed_by_id))
    return "" if kept == order.authority_id else found.agreed_by


def ceiling(order_id: int) -> int | None:
    """What the order may cost in all, minor units, tax included; None while nobody has agreed to anything."""
    found = governing(order_id)
    return found.ceiling_minor if found else None


def _sum(minor: int) -> str:
    return show(minor, the_shop().currency)


def _check(consent: Consent, now: datetime) -> None:
    if not consent.what_for.strip():
        raise BadInput("Enter what the money is for.", "what_for")
    if consent.ceiling_minor < 0:
        raise BadInput("Enter a ceiling of 0 or more.", "ceiling_minor")
    if consent.channel in (Channel.PHONE, Channel.EMAIL) and not consent.reached_at.strip():
        raise BadInput("Enter the number called or the address written to.", "reached_at")
    if consent.agreed_at > now + CLOCKS_DIFFER:
        raise BadInput("That time is in the future. Enter when they agreed.", "agreed_at")
