"""What the log makes due: the next try, an amp whose customer was not told that it is ready, and a message that was refused."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from app.contact.models import ContactEntry, MailMessage, MailRecipient
from app.contact.rules import How, MailState
from app.errors import Missing
from app.handover.due import READY
from app.handover.models import CollectionNotice
from app.orders.due import OPEN, UNTIL, Asked, Due, Source, asks, from_row
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.shop.queries import day

TRY, COLLECTION, REFUSED = "Next try", "Collection", "E-mail"
UNCOLLECTED_AFTER = timedelta(days=14)  # common practice, no source: some shops wait 14 days, some 90, before a first notice
_LATER, _NAMED, _OTHER = aliased(ContactEntry), aliased(Customer), aliased(Customer)
_REACHING = tuple(one for one in How if one.reaches)
_TOLD = (sa.select(sa.func.max(ContactEntry.at)).where(
    ContactEntry.order_id == RepairOrder.id, ContactEntry.struck_at.is_(None), ContactEntry.how.in_(_REACHING),
    ContactEntry.at >= READY).correlate(RepairOrder).scalar_subquery())


def _tries(rows: Sequence[Any], _asked: Asked) -> Iterable[Due]:
    for row in rows:
        about = (("customer", row.who_id), *((("order", row.order_id),) if row.order_id else ()))
        text = f"Try {row.who} again. Last time: {row.words}{f', {row.more}' if row.more else ''}"
        yield from_row(row, text, row.day, Missing(text, "contact.new", about))


def _collections(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    """Tell them; then, a fortnight later, the first notice. Notices that are sent have a source of their own."""
    for row in rows:
        if row.at is None:
            text = f"Tell {row.who} that the amp can be collected."
            about = (("customer", row.who_id), ("order", row.order_id))
            yield from_row(row, text, asked.today, Missing(text, "contact.new", about))
        elif (on := asked.day_of(row.at) + UNCOLLECTED_AFTER) and not row.words:
            told = day(asked.day_of(row.at))
            text = f"Nobody has come for the amp since the last contact about it, on {told}. Send the first notice."
            yield from_row(row, text, on, Missing(text, "handover.notice", (("order_id", row.order_id),)))


def _refused(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    for row in rows:
        text = f"The message “{row.words}” to {row.who} did not go out: {row.more}"
        yield from_row(row, text, asked.day_of(row.at), Missing(text, "contact.message", (("message_id", row.subject_id),)))


def _kept(who: type[Customer]) -> sa.ColumnElement[int]:
    """The record that stands for this one: itself, or the one that it was merged into."""
    found: sa.ColumnElement[int] = sa.func.coalesce(who.merged_into_id, who.id)
    return found


TRIES = Source(TRY, asks(TRY, subject_id=ContactEntry.id, day=ContactEntry.next_on, words=ContactEntry.how, more=ContactEntry.said)
               .join_from(ContactEntry, _NAMED, _NAMED.id == ContactEntry.customer_id)
               .join(Customer, Customer.id == _kept(_NAMED))
               .outerjoin(RepairOrder, RepairOrder.id == ContactEntry.order_id).outerjoin(Amp, Amp.id == RepairOrder.amp_id)
               .where(ContactEntry.next_on <= UNTIL, ContactEntry.struck_at.is_(None), Customer.erased_at.is_(None),
                      sa.or_(ContactEntry.order_id.is_(None), OPEN),
                      ~sa.exists().where(_OTHER.id == _LATER.customer_id, _kept(_OTHER) == Customer.id, _LATER.id > ContactEntry.id,
                                         _LATER.struck_at.is_(None),
                                         sa.func.coalesce(_LATER.order_id, 0) == sa.func.coalesce(ContactEntry.order_id, 0))),
               _tries)
_NOTICED = (sa.select(sa.func.min(sa.cast(CollectionNotice.number, sa.Text))).where(
    CollectionNotice.order_id == RepairOrder.id, CollectionNotice.struck_at.is_(None))
    .correlate(RepairOrder).scalar_subquery())
COLLECTIONS = Source(COLLECTION, asks(COLLECTION, at=_TOLD, words=_NOTICED)
    .join_from(RepairOrder, Amp, Amp.id == RepairOrder.amp_id).join(Customer, Customer.id == RepairOrder.depositor_id)
    .where(OPEN, READY.is_not(None)), _collections)
REFUSALS = Source(REFUSED, asks(REFUSED, subject_id=MailMessage.id, at=MailRecipient.answered_at, words=MailMessage.subject,
                                more=MailRecipient.answer)
                  .join_from(MailRecipient, MailMessage, MailMessage.id == MailRecipient.mail_message_id)
                  .join(Customer, Customer.id == MailMessage.customer_id)
                  .outerjoin(RepairOrder, RepairOrder.id == MailMessage.order_id).outerjoin(Amp, Amp.id == RepairOrder.amp_id)
                  .where(MailRecipient.state == MailState.REFUSED), _refused)
