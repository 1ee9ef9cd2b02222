"""Bills, credit notes, and what was paid. A bill and a credit note are never changed; an entry is only ever struck out."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.kernel.taxes import Taxed
from app.money.rules import BillKind, Entered, EntryKind, Method, Row
from app.shop.tax_columns import TaxColumns


class Bill(TaxColumns, Base):
    """One bill as it was issued, with the prices and taxes of then. Frozen. Sums in minor units of `currency`."""

    __tablename__ = "bill"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)  # from the shop's first one on, without a gap
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    customer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    kind: Mapped[BillKind] = mapped_column(words(BillKind, "bill_kind"))
    billed_on: Mapped[date] = mapped_column(index=True)
    due_on: Mapped[date]
    to_name: Mapped[str]
    to_address: Mapped[str] = mapped_column(default="")
    currency: Mapped[str]
    lines: Mapped[list[Any]] = mapped_column(sa.JSON)  # [what, price, days of warranty] each
    net_minor: Mapped[int]
    tax_minor: Mapped[int]  # all of it
    second_tax_minor: Mapped[int] = mapped_column(default=0)
    total_minor: Mapped[int]
    agreed_minor: Mapped[int]  # up to what sum the customer had agreed
    disclosed: Mapped[str] = mapped_column(default="")  # of storage: where the customer was told of it before
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("number > 0", name="number_positive"),
        sa.CheckConstraint("total_minor = net_minor + tax_minor AND total_minor > 0", name="total_adds_up"),
        sa.CheckConstraint("kind = 'storage' OR total_minor <= agreed_minor", name="never_above_what_was_agreed"),
        sa.CheckConstraint("kind <> 'storage' OR disclosed <> ''", name="storage_was_disclosed"),
        sa.CheckConstraint("to_name <> '' AND due_on >= billed_on", name="says_who_and_when"),
    )

    @property
    def rows(self) -> tuple[Row, ...]:
        return tuple(Row(*one) for one in self.lines)

    @property
    def sums(self) -> Taxed:
        rest = (self.second_tax_minor,) if self.second_tax_name else ()
        return Taxed(self.net_minor, (self.tax_minor - self.second_tax_minor, *rest))


class CreditNote(Base):
    """What of a bill is taken back, and why. Frozen."""

    __tablename__ = "credit_note"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    bill_id: Mapped[int] = mapped_column(sa.ForeignKey("bill.id"), index=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    credited_on: Mapped[date] = mapped_column(index=True)
    reason: Mapped[str]
    net_minor: Mapped[int]
    tax_minor: Mapped[int]
    second_tax_minor: Mapped[int] = mapped_column(default=0)
    total_minor: Mapped[int]
    at: Mapped[datetime]
    by_name: Mapped[str]

    bill: Mapped[Bill] = relationship()

    __table_args__ = (
        sa.CheckConstraint("number > 0", name="number_positive"),
        sa.CheckConstraint("total_minor = net_minor + tax_minor AND total_minor > 0", name="total_adds_up"),
        sa.CheckConstraint("reason <> ''", name="says_why"),
    )


class MoneyEntry(Base):
    """A deposit, a payment, a refund or a write-off: how much, when, by whom. Struck out if it was wrong."""

    __tablename__ = "money_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    kind: Mapped[EntryKind] = mapped_column(words(EntryKind, "entry_kind"))
    amount_minor: Mapped[int]
    rounding_minor: Mapped[int] = mapped_column(default=0)  # what of it only rounds cash to coins
    method: Mapped[Method] = mapped_column(words(Method, "entry_method"))
    paid_at: Mapped[datetime] = mapped_column(index=True)
    taken_by: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    recorded_at: Mapped[datetime]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str] = mapped_column(default="")
    struck_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("amount_minor > 0 AND taken_by <> ''", name="some_money_by_somebody"),
        sa.CheckConstraint("(kind IN ('deposit', 'payment', 'refund')) = (method <> 'nothing was paid')", name="paid_somehow"),
        sa.CheckConstraint("rounding_minor = 0 OR method = 'cash'", name="only_cash_is_rounded"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '') AND (struck_at IS NULL) = (struck_by = '')",
                           name="struck_with_reason"),
    )

    @property
    def moment(self) -> datetime:
        """When it was paid. Entered at once that is told to the minute only, and when it was recorded is the finer."""
        told_at_once = timedelta(0) <= self.recorded_at - self.paid_at < timedelta(minutes=1)
        return self.recorded_at if told_at_once else self.paid_at

    @property
    def entered(self) -> Entered:
        return Entered(self.kind, self.amount_minor, self.rounding_minor)
