"""The repair order and its journey."""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, Versioned, words
from app.orders.stages import End, Stage

if TYPE_CHECKING:
    from app.records.models import Amp, Customer


class RepairOrder(Versioned, Base):
    """One amp, once in the shop. The person who left it, its owner and who may approve cost can be three people."""

    __tablename__ = "repair_order"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    amp_id: Mapped[int] = mapped_column(sa.ForeignKey("amp.id"), index=True)
    depositor_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    owner_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    authority_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    stage: Mapped[Stage] = mapped_column(words(Stage), index=True)
    ended_as: Mapped[End | None] = mapped_column(words(End))
    ended_at: Mapped[datetime | None] = mapped_column(index=True)
    opened_at: Mapped[datetime]
    promised_on: Mapped[date | None]
    shelf: Mapped[str] = mapped_column(default="")  # where it stands; empty once it has left
    left_shelf: Mapped[str] = mapped_column(default="")  # where it stood when the order ended
    come_back_of_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    under_warranty: Mapped[bool | None]

    amp: Mapped[Amp] = relationship("Amp")
    depositor: Mapped[Customer] = relationship("Customer", foreign_keys=[depositor_id])
    owner: Mapped[Customer] = relationship("Customer", foreign_keys=[owner_id])
    authority: Mapped[Customer] = relationship("Customer", foreign_keys=[authority_id])
    come_back_of: Mapped[RepairOrder | None] = relationship(remote_side=[id])
    moves: Mapped[list[Move]] = relationship(back_populates="order", order_by="Move.id")

    __table_args__ = (
        sa.CheckConstraint("number > 0", name="number_positive"),
        sa.CheckConstraint("(ended_as IS NULL) = (ended_at IS NULL)", name="ended_has_time"),
        sa.CheckConstraint("left_shelf = '' OR ended_as IS NOT NULL", name="left_a_shelf"),
        sa.CheckConstraint("come_back_of_id IS NULL OR come_back_of_id <> id", name="not_its_own_come_back"),
        sa.Index("ix_repair_order_open", "promised_on", "number", sqlite_where=sa.text("ended_as IS NULL"),
                 postgresql_where=sa.text("ended_as IS NULL")),
    )

    @property
    def is_open(self) -> bool:
        return self.ended_as is None


class Move(Base):
    """One step of the journey: from which stage to which, by whom, when, and why if it went back."""

    __tablename__ = "order_move"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    from_stage: Mapped[Stage] = mapped_column(words(Stage, "from_stage"))
    to_stage: Mapped[Stage] = mapped_column(words(Stage, "to_stage"))
    at: Mapped[datetime]
    by_name: Mapped[str]
    reason: Mapped[str] = mapped_column(default="")

    order: Mapped[RepairOrder] = relationship(back_populates="moves")


class Quarantine(Base):
    """Do not energise: set with a reason, lifted with a reason by somebody of the bench."""

    __tablename__ = "quarantine"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    reason: Mapped[str]
    set_at: Mapped[datetime]
    set_by: Mapped[str]
    lifted_at: Mapped[datetime | None]
    lifted_by: Mapped[str] = mapped_column(default="")
    lifted_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("reason <> ''", name="has_reason"),
        sa.CheckConstraint("(lifted_at IS NULL) = (lifted_reason = '') AND (lifted_at IS NULL) = (lifted_by = '')",
                           name="lifted_with_reason"),
        sa.Index("uq_quarantine_one_standing", "order_id", unique=True, sqlite_where=sa.text("lifted_at IS NULL"),
                 postgresql_where=sa.text("lifted_at IS NULL")),
    )


class PowerUp(Base):
    """The amp was put on power: since when, why, and when it was off and unplugged again. One at a time is open."""

    __tablename__ = "power_up"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    since: Mapped[datetime]
    by_name: Mapped[str]
    why: Mapped[str]
    reason: Mapped[str] = mapped_column(default="")  # why it was powered although something was missing
    ended_at: Mapped[datetime | None]
    ended_by: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("why <> ''", name="says_why"),
        sa.CheckConstraint("(ended_at IS NULL) = (ended_by = '')", name="ended_by_somebody"),
        sa.Index("uq_power_up_one_open", "order_id", unique=True, sqlite_where=sa.text("ended_at IS NULL"),
                 postgresql_where=sa.text("ended_at IS NULL")),
    )


class ChassisOpening(Base):
    """Hands were in the amp: an act that opens the chassis, or that cannot be done while it is closed.

    What proves a closed amp (a safety test, a soak run) counts only as long as no later row stands here. Ids rise with
    time, and a clock that jumps does not change their order.
    """

    __tablename__ = "chassis_opening"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    at: Mapped[datetime]
    by_name: Mapped[str]
    why: Mapped[str]

    __table_args__ = (sa.CheckConstraint("why <> ''", name="says_why"),)


class OrderStanding(Base):
    """What an order waits for, as it was worked out last: app/orders/standing.py reads it, app/orders/renewal.py writes it.

    Derived from all other tables, and good until `good_until` at the latest (None: until something is written). A row whose
    moment has passed claims nothing. `turn` counts how often it was renewed or called into question.
    """

    __tablename__ = "order_standing"

    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), primary_key=True)
    waits_for: Mapped[str]
    missing: Mapped[list[Any]] = mapped_column(sa.JSON)  # [text, endpoint, values, holds] each, what holds the amp first
    held: Mapped[bool]
    do_not_energise: Mapped[str]  # why, in words; empty while it may be
    discharged: Mapped[bool] = mapped_column(default=False)  # every supply capacitor is shown below the limit
    overdue: Mapped[bool]
    clock_at: Mapped[datetime | None]  # the next thing that comes by the clock, and what it is
    clock_text: Mapped[str]
    clock_place: Mapped[list[Any]] = mapped_column(sa.JSON)  # [endpoint, values]
    good_until: Mapped[datetime | None] = mapped_column(index=True)
    turn: Mapped[int]

    __table_args__ = (sa.CheckConstraint("turn > 0", name="turn_counts"),)


class AuthorityFor(StrEnum):
    """What the customer agreed to spend on."""

    DIAGNOSIS = "diagnosis"
    QUOTE = "quote"
    VARIATION = "variation"
    OTHER = "other"


class Channel(StrEnum):
    """How the agreement reached the shop."""

    IN_PERSON = "in person"
    PHONE = "phone"
    EMAIL = "e-mail"
    SIGNATURE = "signature"


class CostAuthority(Base):
    """One entry of the ledger of ceilings: what the order may cost in all from then on, tax included.

    Never changed: a new agreement is a new entry; a wrong one is withdrawn with a reason and stays readable.
    """

    __tablename__ = "authority"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    covers: Mapped[AuthorityFor] = mapped_column(words(AuthorityFor))
    what_for: Mapped[str]
    ceiling_minor: Mapped[int]
    agreed_by_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"))
    agreed_by: Mapped[str]
    channel: Mapped[Channel] = mapped_column(words(Channel))
    reached_at: Mapped[str] = mapped_column(default="")  # the number called or the address written to
    agreed_at: Mapped[datetime]
    taken_by: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    withdrawn_at: Mapped[datetime | None]
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("ceiling_minor >= 0", name="ceiling_not_negative"),
        sa.CheckConstraint("what_for <> '' AND agreed_by <> '' AND taken_by <> ''", name="says_who_and_what"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn_with_reason"),
        sa.CheckConstraint("channel NOT IN ('phone', 'e-mail') OR reached_at <> ''", name="reached_somewhere"),
    )
