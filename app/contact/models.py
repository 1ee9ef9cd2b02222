"""The contact log, the shop's mail server and templates, and the outbox."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.contact.rules import How, MailState, Security
from app.db import Base, Versioned, words
from app.documents.models import IssuedDocument
from app.orders.models import RepairOrder
from app.records.models import Customer


class ContactEntry(Base):
    """Somebody was called or written to, or was not reached: what was said, by whom, when to try next. Struck out if wrong."""

    __tablename__ = "contact_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    order_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    how: Mapped[How] = mapped_column(words(How, "contact_how"))
    reached_at: Mapped[str] = mapped_column(default="")  # the number called or the address written to
    said: Mapped[str] = mapped_column(default="")
    next_on: Mapped[date | None] = mapped_column(index=True)
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str] = mapped_column(default="")
    struck_reason: Mapped[str] = mapped_column(default="")

    customer: Mapped[Customer] = relationship()
    order: Mapped[RepairOrder | None] = relationship()

    __table_args__ = (
        sa.CheckConstraint("said <> '' OR how IN ('called, no answer', 'left a voicemail')", name="says_what"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '') AND (struck_at IS NULL) = (struck_by = '')",
                           name="struck_with_reason"),
    )


class MailServer(Versioned, Base):
    """The shop's own SMTP server: exactly one row, id 1. Its password is no column: it lies in a file of its own."""

    __tablename__ = "mail_server"

    id: Mapped[int] = mapped_column(primary_key=True)
    host: Mapped[str]
    port: Mapped[int]
    security: Mapped[Security] = mapped_column(words(Security, "mail_security"))
    user_name: Mapped[str] = mapped_column(default="")
    sender_name: Mapped[str] = mapped_column(default="")
    sender_address: Mapped[str]
    most_bytes: Mapped[int]  # of one message with its papers, by the shop's own limit
    server_most_bytes: Mapped[int | None]  # what its SIZE named at the last test; None: none named
    tested_at: Mapped[datetime | None]
    test_passed: Mapped[bool] = mapped_column(default=False)
    test_words: Mapped[str] = mapped_column(default="")  # the server's own

    __table_args__ = (
        sa.CheckConstraint("id = 1", name="only_one"),
        sa.CheckConstraint("host <> '' AND sender_address <> ''", name="says_where"),
        sa.CheckConstraint("port BETWEEN 1 AND 65535 AND most_bytes > 0", name="in_range"),
    )

    @property
    def most(self) -> int:
        """The bytes of a message that both the shop and its server take."""
        return min(self.most_bytes, self.server_most_bytes or self.most_bytes)


class MailTemplate(Versioned, Base):
    """A message in the shop's words, with facts in braces. One no longer used stays readable."""

    __tablename__ = "mail_template"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    subject: Mapped[str]
    body: Mapped[str]
    retired_at: Mapped[datetime | None]

    __table_args__ = (sa.CheckConstraint("name <> '' AND subject <> '' AND body <> ''", name="filled_in"),)


class MailMessage(Base):
    """One message as it was written. Never changed; how far it is stands with each recipient."""

    __tablename__ = "mail_message"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    order_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    message_id: Mapped[str] = mapped_column(unique=True)  # the same at every try, so that a second copy is known as one
    subject: Mapped[str]
    body: Mapped[str]
    size: Mapped[int]  # bytes as it was composed
    queued_at: Mapped[datetime]
    queued_by: Mapped[str]

    recipients: Mapped[list[MailRecipient]] = relationship(back_populates="message", order_by="MailRecipient.id")
    papers: Mapped[list[MailPaper]] = relationship(order_by="MailPaper.id")
    customer: Mapped[Customer] = relationship()
    order: Mapped[RepairOrder | None] = relationship()

    __table_args__ = (sa.CheckConstraint("subject <> '' AND body <> '' AND size > 0", name="filled_in"),)


class MailRecipient(Versioned, Base):
    """One recipient of a message: how far it is, the server's last words, and when it is tried next."""

    __tablename__ = "mail_recipient"

    id: Mapped[int] = mapped_column(primary_key=True)
    mail_message_id: Mapped[int] = mapped_column(sa.ForeignKey("mail_message.id"), index=True)
    reached_at: Mapped[str]
    state: Mapped[MailState] = mapped_column(words(MailState, "mail_state"), default=MailState.WAITING)
    tries: Mapped[int] = mapped_column(default=0)
    since: Mapped[datetime]  # from when the tries are counted
    next_at: Mapped[datetime | None] = mapped_column(index=True)  # the next try; while one runs, when its claim ends
    answer: Mapped[str] = mapped_column(default="")  # the server's own words, or why it was not reached
    answered_at: Mapped[datetime | None]
    answers_lost: Mapped[int] = mapped_column(default=0)  # tries that may have delivered it, though no answer came

    message: Mapped[MailMessage] = relationship(back_populates="recipients")

    __table_args__ = (
        sa.CheckConstraint("reached_at <> ''", name="sent_somewhere"),
        sa.CheckConstraint("(state IN ('waiting', 'connecting', 'being handed over')) = (next_at IS NOT NULL)",
                           name="tried_or_ended"),
        sa.CheckConstraint("state <> 'accepted by the server' OR answer <> ''", name="accepted_by_an_answer"),
        sa.CheckConstraint("tries >= 0 AND answers_lost >= 0", name="not_negative"),
    )


class MailPaper(Base):
    """An issued paper that goes along with a message."""

    __tablename__ = "mail_paper"

    id: Mapped[int] = mapped_column(primary_key=True)
    mail_message_id: Mapped[int] = mapped_column(sa.ForeignKey("mail_message.id"), index=True)
    document_id: Mapped[int] = mapped_column(sa.ForeignKey("issued_document.id"))
    file_name: Mapped[str]

    document: Mapped[IssuedDocument] = relationship()

    __table_args__ = (sa.UniqueConstraint("mail_message_id", "document_id"),)
