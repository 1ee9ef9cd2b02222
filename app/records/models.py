"""Customers and amps."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.records.rules import ProtectionClass


class Customer(Versioned, Base):
    """Somebody who leaves, owns or pays for amps. At least one way to reach them."""

    __tablename__ = "customer"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(index=True)
    phone: Mapped[str] = mapped_column(default="")
    email: Mapped[str] = mapped_column(default="")
    address: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    added_at: Mapped[datetime]
    record_given_at: Mapped[datetime | None]  # when their whole record was given to them last
    erased_at: Mapped[datetime | None]  # the person was taken out: the row stands for somebody whom nobody here knows any more
    merged_into_id: Mapped[int | None] = mapped_column(sa.ForeignKey("customer.id"), index=True)  # the same person's other record

    __table_args__ = (
        sa.CheckConstraint("phone <> '' OR email <> '' OR address <> ''", name="one_way_to_reach"),
        sa.CheckConstraint("name <> ''", name="has_name"),
        sa.CheckConstraint("merged_into_id IS NULL OR merged_into_id <> id", name="not_merged_into_itself"),
    )

    @property
    def reach(self) -> str:
        """The first way to reach them."""
        return self.phone or self.email or " ".join(self.address.split())


class Amp(Versioned, Base):
    """One amplifier, as it is marked. It may come in more than once."""

    __tablename__ = "amp"

    id: Mapped[int] = mapped_column(primary_key=True)
    maker: Mapped[str]
    model: Mapped[str]
    serial: Mapped[str]  # "none found" when there is none
    mains_marking: Mapped[str] = mapped_column(default="")
    protection_class: Mapped[ProtectionClass] = mapped_column(words(ProtectionClass), default=ProtectionClass.UNKNOWN)
    valves: Mapped[str] = mapped_column(default="")
    covering: Mapped[str] = mapped_column(default="")
    marks: Mapped[str] = mapped_column(default="")  # what tells it from another of its kind
    added_at: Mapped[datetime]
    merged_into_id: Mapped[int | None] = mapped_column(sa.ForeignKey("amp.id"), index=True)  # the same amp's other record

    __table_args__ = (sa.CheckConstraint("merged_into_id IS NULL OR merged_into_id <> id", name="not_merged_into_itself"),)

    @property
    def title(self) -> str:
        return f"{self.maker} {self.model}".strip()
