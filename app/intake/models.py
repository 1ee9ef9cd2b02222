"""Customers, amps, and what the counter records about an amp that comes in."""

from __future__ import annotations

import enum
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.intake.come_back_rules import Payer, Verdict
from app.intake.rules import Zone


class Complaint(Versioned, Base):
    """What the customer says, in their own words, and what must stay as it is. One per order."""

    __tablename__ = "complaint"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    words: Mapped[str]
    connected: Mapped[str] = mapped_column(default="")  # loudspeaker, leads, pedals in use
    how_long_on: Mapped[str] = mapped_column(default="")
    last_right: Mapped[str] = mapped_column(default="")
    worked_on_by: Mapped[str] = mapped_column(default="")
    smell: Mapped[bool | None]  # None: not asked
    smoke: Mapped[bool | None]
    fuse: Mapped[bool | None]
    keep: Mapped[str] = mapped_column(default="")
    leave_alone: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("words <> ''", name="in_words"),)


class ConditionNote(Base):
    """How one zone of the amp looked when it came in. A wrong note is struck with a reason and stays readable."""

    __tablename__ = "condition_note"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    zone: Mapped[Zone] = mapped_column(words(Zone))
    note: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("note <> ''", name="says_something"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '')", name="struck_with_reason"),
    )


class AccessoryCount(Versioned, Base):
    """That somebody has counted what came with the amp; nothing at all is a count too. One per order."""

    __tablename__ = "accessory_count"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    at: Mapped[datetime]
    by_name: Mapped[str]


class Accessory(Base):
    """One kind of thing that came with the amp, and how many of it."""

    __tablename__ = "accessory"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    what: Mapped[str]
    quantity: Mapped[int]

    __table_args__ = (
        sa.UniqueConstraint("order_id", "what"),
        sa.CheckConstraint("quantity >= 0", name="quantity_not_negative"),
        sa.CheckConstraint("what <> ''", name="has_name"),
    )


class FirstLook(Versioned, Base):
    """The look for obvious danger at the counter, before anything is switched on. One per order."""

    __tablename__ = "first_look"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    dangers: Mapped[list[str]] = mapped_column(sa.JSON)  # values of rules.Danger, in their order
    other: Mapped[str] = mapped_column(default="")
    mains_joined: Mapped[bool | None]  # whether a mains pin joins chassis or signal earth; None: not measured
    energised: Mapped[bool]
    energised_why: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("NOT energised OR energised_why <> ''", name="energised_with_reason"),)


class Agreement(Versioned, Base):
    """What is offered to the customer at the counter: the fee for diagnosis, its ceiling, the declared value.

    The ceiling counts once somebody who may approve cost has agreed: see the authority ledger of the order.
    """

    __tablename__ = "intake_agreement"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), unique=True)
    fee_minor: Mapped[int]
    fee_credited: Mapped[bool]  # whether the fee counts towards the repair if it goes ahead
    ceiling_minor: Mapped[int]
    declared_value_minor: Mapped[int | None]

    __table_args__ = (
        sa.CheckConstraint("fee_minor >= 0 AND (declared_value_minor IS NULL OR declared_value_minor >= 0)",
                           name="money_not_negative"),
        sa.CheckConstraint("ceiling_minor >= fee_minor", name="ceiling_covers_fee"),
    )


class HowSigned(enum.StrEnum):
    """Where the signature is."""

    SCREEN = "on the screen"
    PAPER = "on paper"
    TYPED = "typed, in person"


class Acceptance(Base):
    """Terms that somebody signed: the very text, its SHA-256, name, moment and the pen's path. Never changed."""

    __tablename__ = "terms_acceptance"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    jurisdiction: Mapped[str]
    terms_checked: Mapped[date]
    text: Mapped[str]
    text_sha256: Mapped[str]
    fee_minor: Mapped[int]
    ceiling_minor: Mapped[int]
    signer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"))
    signer_name: Mapped[str]
    how: Mapped[HowSigned] = mapped_column(words(HowSigned))
    signature: Mapped[str] = mapped_column(default="")  # SVG path in a 640 × 200 field
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("(how = 'on the screen') = (signature <> '')", name="pen_on_screen"),
        sa.CheckConstraint("signer_name <> ''", name="has_name"),
        sa.CheckConstraint("fee_minor >= 0 AND ceiling_minor >= 0", name="money_not_negative"),
    )


class ShopTerms(Base):
    """One edition of the terms in the shop's own words, for one jurisdiction. Never changed: a new edition replaces it.

    `paragraphs`: [head, text] each. An edition of which there are none says that the program's own set is used again.
    """

    __tablename__ = "shop_terms"

    id: Mapped[int] = mapped_column(primary_key=True)
    jurisdiction: Mapped[str]
    edition: Mapped[int]
    paragraphs: Mapped[list[list[str]]] = mapped_column(sa.JSON)
    checked_on: Mapped[date]  # the day on which the shop held them against its law
    checked_against: Mapped[str]  # what they were held against, and by whom
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.UniqueConstraint("jurisdiction", "edition"),
        sa.CheckConstraint("edition > 0", name="edition_counts"),
        sa.CheckConstraint("checked_against <> ''", name="says_against_what"),
    )


class ComeBackVerdict(Base):
    """Why an amp came back, who pays, and on what that rests. Never changed: a later verdict replaces the one before."""

    __tablename__ = "come_back_verdict"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    verdict: Mapped[Verdict] = mapped_column(words(Verdict))
    payer: Mapped[Payer] = mapped_column(words(Payer))
    compared: Mapped[bool]  # with what was measured as the amp left, and with what was declined then
    reasoning: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("reasoning <> ''", name="has_reasoning"),
        sa.CheckConstraint("payer <> 'the customer' OR compared", name="compared_before_charging"),
    )
