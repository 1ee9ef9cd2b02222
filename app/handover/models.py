"""What is written down as an amp goes out."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.handover.rules import (
    Acknowledged,
    Collector,
    Fate,
    Given,
    HowSigned,
    OldPartsFate,
    Reason,
    Recipient,
    Sent,
    Waiting,
)
from app.money.rules import Method


class AccessoryReturn(Versioned, Base):
    """How many of one accessory go back, and why if they are not all."""

    __tablename__ = "accessory_return"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    accessory_id: Mapped[int] = mapped_column(sa.ForeignKey("accessory.id"), unique=True)
    given: Mapped[int]
    note: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("given >= 0", name="given_not_negative"),)


class OldParts(Versioned, Base):
    """What became of the parts that came out. One per order."""

    __tablename__ = "old_parts"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    fate: Mapped[OldPartsFate] = mapped_column(words(OldPartsFate, "old_parts_fate"))
    which: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("fate = 'none came out' OR which <> ''", name="says_which"),)


class Settlement(Versioned, Base):
    """What is due, what was paid and how; minor units, tax included. One per order."""

    __tablename__ = "settlement"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    due_minor: Mapped[int]
    paid_minor: Mapped[int]
    method: Mapped[Method] = mapped_column(words(Method, "paid_by"))
    on_account: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("paid_minor >= 0 AND due_minor >= paid_minor", name="paid_within_due"),
        sa.CheckConstraint("(paid_minor = 0) = (method = 'nothing was paid')", name="paid_somehow"),
        sa.CheckConstraint("paid_minor = due_minor OR on_account <> ''", name="rest_explained"),
    )

    @property
    def open_minor(self) -> int:
        return self.due_minor - self.paid_minor


class Demonstration(Versioned, Base):
    """Whether the amp was shown working, and what was said about its use. One per order."""

    __tablename__ = "demonstration"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    shown: Mapped[bool]
    said: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]


class ReturnSignature(Base):
    """Who took the amp and signed which text, when and how. Never changed; a later one takes its place."""

    __tablename__ = "return_signature"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    name: Mapped[str]
    who: Mapped[Collector] = mapped_column(words(Collector))
    known_by: Mapped[str] = mapped_column(default="")  # how a stranger showed that they may take it
    how: Mapped[HowSigned] = mapped_column(words(HowSigned, "return_signed"))
    signature: Mapped[str] = mapped_column(default="")  # SVG path in a 640 × 200 field
    text: Mapped[str]
    text_sha256: Mapped[str]
    facts_sha256: Mapped[str] = mapped_column(default="")  # of signed.ToSign, for which it was given
    facts_version: Mapped[int] = mapped_column(default=0)  # 0: of before there were facts
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("name <> '' AND text <> ''", name="says_who_and_what"),
        sa.CheckConstraint("(how = 'on the screen') = (signature <> '')", name="pen_on_screen"),
        sa.CheckConstraint("who NOT IN ('somebody they sent', 'a carrier') OR known_by <> ''", name="stranger_known"),
    )


class UnrepairedReturn(Versioned, Base):
    """Why an amp leaves unrepaired, what is wrong with it, and what keeps it from being switched on. One per order."""

    __tablename__ = "unrepaired_return"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    reason: Mapped[Reason] = mapped_column(words(Reason, "unrepaired_reason"))
    danger: Mapped[str]
    advice: Mapped[str] = mapped_column(default="")
    measures: Mapped[list[str]] = mapped_column(sa.JSON)  # values of rules.Measure, in their order
    works: Mapped[str] = mapped_column(default="")  # why it may still be switched on; empty: it may not
    tag: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("danger <> ''", name="says_what_is_wrong"),
        sa.CheckConstraint("reason <> 'it cannot be made safe here' OR works = ''", name="unsafe_stays_off"),
    )


class UnrepairedAcknowledgement(Base):
    """The warning as it was read and signed, or refused before a witness. Never changed."""

    __tablename__ = "unrepaired_acknowledgement"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    name: Mapped[str]
    how: Mapped[Acknowledged] = mapped_column(words(Acknowledged))
    signature: Mapped[str] = mapped_column(default="")
    witness: Mapped[str] = mapped_column(default="")
    text: Mapped[str]
    text_sha256: Mapped[str]
    facts_sha256: Mapped[str] = mapped_column(default="")  # of signed.ToAcknowledge, for which it was given
    facts_version: Mapped[int] = mapped_column(default=0)
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("name <> '' AND text <> ''", name="says_who_and_what"),
        sa.CheckConstraint("(how = 'signed on the screen') = (signature <> '')", name="pen_on_screen"),
        sa.CheckConstraint("(how = 'refused to sign') = (witness <> '')", name="refusal_witnessed"),
    )


class CollectionNotice(Base):
    """One letter to whoever has not come for the amp, under which rules, and how it went. Never changed; struck if wrong."""

    __tablename__ = "collection_notice"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    number: Mapped[int]
    addressed_to: Mapped[str]
    address: Mapped[str]
    sent_on: Mapped[date]
    given_on: Mapped[date]  # the day on which it counts as given: time runs from it
    recipient: Mapped[Recipient | None] = mapped_column(words(Recipient))  # None: written down before it was asked
    how: Mapped[Sent] = mapped_column(words(Sent))
    proof: Mapped[str] = mapped_column(default="")
    due_minor: Mapped[int]
    due_for: Mapped[str] = mapped_column(default="")
    ready_since: Mapped[date]
    hours: Mapped[str]
    rule: Mapped[str]
    rule_words: Mapped[str]
    rule_source: Mapped[str]
    rule_checked: Mapped[date]
    rule_read: Mapped[str] = mapped_column(default="")  # how the source was read; empty: written down before that was kept
    rule_address: Mapped[str] = mapped_column(default="")
    worth_minor: Mapped[int | None]  # what a thing of the same age and state costs; it picks the rule
    worth_from: Mapped[str] = mapped_column(default="")
    wait_notices: Mapped[int]
    wait_days: Mapped[int]
    wait_to: Mapped[str] = mapped_column(default="")  # who must get one: values of rules.Recipient, comma between
    fates: Mapped[str] = mapped_column(default="")  # what the rule allows: values of rules.Fate, semicolon between; empty: any
    keep_months: Mapped[int] = mapped_column(default=0)  # of the record of a disposal; 0: the rule names none
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_reason: Mapped[str] = mapped_column(default="")

    @property
    def given(self) -> Given:
        return Given(self.given_on, self.recipient)

    @property
    def waiting(self) -> Waiting:
        """What the rule that it was sent under asks."""
        return Waiting(self.wait_notices, self.wait_days, tuple(map(Recipient, self.wait_to.split(","))) if self.wait_to else ())

    @property
    def allowed(self) -> tuple[Fate, ...]:
        """What that rule lets become of the amp; every fate where it names none."""
        return tuple(map(Fate, self.fates.split(";"))) if self.fates else tuple(Fate)

    @property
    def unconfirmed(self) -> bool:
        """Nobody read the rule in the text that it comes from."""
        return self.rule_read not in ("", "seen", "common practice")

    __table_args__ = (
        sa.UniqueConstraint("order_id", "number"),
        sa.CheckConstraint("addressed_to <> '' AND address <> ''", name="sent_somewhere"),
        sa.CheckConstraint("due_minor >= 0 AND wait_days >= 0 AND wait_notices >= 1", name="not_negative"),
        sa.CheckConstraint("given_on >= sent_on", name="given_after_sending"),
        sa.CheckConstraint("worth_minor IS NULL OR (worth_minor >= 0 AND worth_from <> '')", name="worth_with_evidence"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '')", name="struck_with_reason"),
    )


class Disposal(Versioned, Base):
    """What became of an uncollected amp: decided and done by a person, never by the program. One per order."""

    __tablename__ = "disposal"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    fate: Mapped[Fate] = mapped_column(words(Fate, "uncollected_fate"))
    account: Mapped[str]  # to whom, how valued, price, what was kept and what was paid to whom
    law_checked: Mapped[str]  # by whom and against what the shop checked its law
    kept_until: Mapped[date]
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("account <> '' AND law_checked <> ''", name="says_all"),)
