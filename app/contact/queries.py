"""Reading the log, the outbox and what is set for mail."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import joinedload

from app.contact.models import ContactEntry, MailMessage, MailRecipient, MailServer, MailTemplate
from app.contact.rules import MailState
from app.db import session
from app.records.models import Customer

SHOWN = 60
RUNNING = (MailState.WAITING, MailState.CONNECTING, MailState.HANDING_OVER)


def of_order(order_id: int) -> Sequence[ContactEntry]:
    """The log of an order, newest first, with whom each entry is about."""
    return session().scalars(sa.select(ContactEntry).where(ContactEntry.order_id == order_id)
                             .options(joinedload(ContactEntry.customer)).order_by(ContactEntry.id.desc()).limit(SHOWN)).all()


def of_customer(customer_id: int) -> Sequence[ContactEntry]:
    """The log of a customer and of records merged into theirs, newest first, with the order that each entry is about."""
    return session().scalars(sa.select(ContactEntry).join(Customer, Customer.id == ContactEntry.customer_id)
                             .where(sa.or_(Customer.id == customer_id, Customer.merged_into_id == customer_id))
                             .options(joinedload(ContactEntry.order)).order_by(ContactEntry.id.desc()).limit(SHOWN)).all()


def find_entry(entry_id: int) -> ContactEntry | None:
    """One entry of the log."""
    return session().get(ContactEntry, entry_id)


def server() -> MailServer | None:
    """The shop's mail server; None while none is set."""
    return session().get(MailServer, 1)


def templates() -> Sequence[MailTemplate]:
    """Every template in use, by name."""
    return session().scalars(sa.select(MailTemplate).where(MailTemplate.retired_at.is_(None)).order_by(MailTemplate.name)).all()


def find_template(template_id: int) -> MailTemplate | None:
    """One template."""
    return session().get(MailTemplate, template_id)


def outbox() -> Sequence[MailRecipient]:
    """The newest messages, one row a recipient: those on their way first."""
    on_their_way = sa.case((MailRecipient.state.in_(RUNNING), 0), else_=1)
    return session().scalars(sa.select(MailRecipient).options(
        joinedload(MailRecipient.message).joinedload(MailMessage.customer),
        joinedload(MailRecipient.message).joinedload(MailMessage.order))
        .order_by(on_their_way, MailRecipient.id.desc()).limit(SHOWN)).all()


def messages_of(order_id: int) -> Sequence[MailRecipient]:
    """What was queued about an order, one row a recipient, newest first."""
    return session().scalars(sa.select(MailRecipient).join(MailMessage, MailMessage.id == MailRecipient.mail_message_id)
                             .options(joinedload(MailRecipient.message)).where(MailMessage.order_id == order_id)
                             .order_by(MailRecipient.id.desc()).limit(SHOWN)).all()


def find_message(message_id: int) -> MailMessage | None:
    """One message."""
    return session().get(MailMessage, message_id)


def find_recipient(recipient_id: int) -> MailRecipient | None:
    """One recipient of a message."""
    return session().get(MailRecipient, recipient_id)


def next_recipient(now: datetime) -> int | None:
    """The id of whoever is to be tried now, first queued first; claims that ran out among them. Asked without a lock."""
    return session().scalar(sa.select(MailRecipient.id).where(MailRecipient.state.in_(RUNNING), MailRecipient.next_at <= now)
                            .order_by(MailRecipient.next_at, MailRecipient.id).limit(1))
