"""What an accountant asks of a period: every bill, credit note and movement of money in it, and totals that agree."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

import sqlalchemy as sa

from app.db import session
from app.exchange.cells import line
from app.kernel.money import digits
from app.money import queries
from app.money.models import Bill, CreditNote, MoneyEntry
from app.money.rules import EntryKind
from app.orders.models import RepairOrder
from app.records.models import Customer
from app.shop.queries import the_shop

COLUMNS = ("date", "what", "number", "repair", "customer", "before tax", "tax", "second tax", "billed", "received", "written off",
           "cash rounding", "paid by", "note", "currency")


@dataclass(frozen=True)
class Line:
    """One thing that happened; sums in minor units, below 0 where they go the other way. `received`: what counts of a payment.

    `at` puts the things of one day in their order.
    """

    on: date
    at: datetime
    what: str
    number: int | None
    order_number: int
    customer: str
    net_minor: int = 0
    tax_minor: int = 0
    second_minor: int = 0
    billed_minor: int = 0
    received_minor: int = 0
    written_off_minor: int = 0
    rounding_minor: int = 0
    method: str = ""
    note: str = ""

    @property
    def title(self) -> str:
        """What it is, with its number: “Bill 3: repair”."""
        head, _, rest = self.what.partition(": ")
        numbered = f"{head} {self.number}" if self.number else head
        return f"{numbered}: {rest}".removesuffix(": ").capitalize()

    @property
    def owed_minor(self) -> int:
        """What it adds to what is owed."""
        return self.billed_minor - self.received_minor - self.written_off_minor


@dataclass(frozen=True)
class Totals:
    """What the lines of a period come to, and what was owed before it and after it; minor units."""

    before_minor: int
    net_minor: int
    tax_minor: int
    second_minor: int
    billed_minor: int
    received_minor: int
    written_off_minor: int
    rounding_minor: int

    @property
    def after_minor(self) -> int:
        return self.before_minor + self.billed_minor - self.received_minor - self.written_off_minor


def lines_until(last: date, customer_id: int | None = None) -> list[Line]:
    """Everything until this day, in the order of its days; of one customer if one is named. Struck entries are left out."""
    rows = (*_bills(customer_id), *_credits(customer_id), *_entries(customer_id))
    return sorted((one for one in rows if one.on <= last),
                  key=lambda one: (one.on, one.at, one.order_number, one.number is None, one.number or 0))


def within(lines: Iterable[Line], first: date) -> tuple[list[Line], Totals]:
    """The lines from this day on, and their totals with what was owed before it."""
    every = list(lines)
    inside = [one for one in every if one.on >= first]

    def total(name: str) -> int:
        return sum(getattr(one, name) for one in inside)

    names = ("net_minor", "tax_minor", "second_minor", "billed_minor", "received_minor", "written_off_minor", "rounding_minor")
    return inside, Totals(sum(one.owed_minor for one in every if one.on < first), *map(total, names))


def csv_of(lines: Iterable[Line], totals: Totals, first: date, last: date) -> str:
    """The period as a CSV file: a head, what was owed before, each line, the totals, what is owed after."""
    currency = the_shop().currency
    per = 10 ** digits(currency)

    def sums(*minor: int) -> list[float]:
        return [one / per for one in minor]

    def said() -> Iterator[str]:
        yield line(COLUMNS)
        yield line([first, "owed before this period", None, None, "", None, None, None, *sums(totals.before_minor), None, None,
                    None, "", "", currency])
        for one in lines:
            yield line([one.on, one.what, one.number, one.order_number, one.customer,
                        *sums(one.net_minor, one.tax_minor, one.second_minor, one.billed_minor, one.received_minor,
                              one.written_off_minor, one.rounding_minor), one.method, one.note, currency])
        yield line([last, "total of this period", None, None, "",
                    *sums(totals.net_minor, totals.tax_minor, totals.second_minor, totals.billed_minor, totals.received_minor,
                          totals.written_off_minor, totals.rounding_minor), "", "", currency])
        yield line([last, "owed after this period", None, None, "", None, None, None, *sums(totals.after_minor), None, None, None,
                    "", "", currency])

    return "".join(said())


def _bills(customer_id: int | None) -> Iterator[Line]:
    for bill, number in session().execute(_of(Bill, Bill.customer_id, customer_id)):
        yield Line(bill.billed_on, bill.at, f"bill: {bill.kind.value}", bill.number, number, bill.to_name, bill.net_minor,
                   bill.tax_minor - bill.second_tax_minor, bill.second_tax_minor, bill.total_minor)


def _credits(customer_id: int | None) -> Iterator[Line]:
    billed = sa.select(Bill.customer_id).where(Bill.id == CreditNote.bill_id).correlate(CreditNote).scalar_subquery()
    for note, number in session().execute(_of(CreditNote, billed, customer_id)):
        yield Line(note.credited_on, note.at, f"credit note: to bill {note.bill.number}", note.number, number,
                   note.bill.to_name, -note.net_minor, note.second_tax_minor - note.tax_minor, -note.second_tax_minor,
                   -note.total_minor, note=note.reason)


def _entries(customer_id: int | None) -> Iterator[Line]:
    zone = the_shop().zone
    billed = sa.select(Bill.customer_id).where(Bill.order_id == MoneyEntry.order_id).order_by(Bill.number.desc()).limit(1)
    payer = sa.func.coalesce(billed.correlate(MoneyEntry).scalar_subquery(), RepairOrder.authority_id)
    asked = _of(MoneyEntry, payer, customer_id).where(MoneyEntry.struck_at.is_(None)).add_columns(Customer.name)
    for entry, number, who in session().execute(asked):
        counts = entry.entered.counts_minor
        sums = {EntryKind.CARRIED: {"billed_minor": counts}, EntryKind.WRITE_OFF: {"written_off_minor": counts},
                EntryKind.REFUND: {"received_minor": -counts}}.get(entry.kind, {"received_minor": counts})
        sign = -1 if entry.kind is EntryKind.REFUND else 1
        yield Line(entry.paid_at.astimezone(zone).date(), entry.moment, entry.kind.value, None, number, who, **sums,
                   rounding_minor=sign * entry.rounding_minor, method=entry.method.value if entry.kind.moves_money else "",
                   note=entry.note)


Kept = TypeVar("Kept", Bill, CreditNote, MoneyEntry)


def _of(kind: type[Kept], payer: Any, customer_id: int | None) -> sa.Select[Kept, int]:
    """With the number of the repair and the record of whoever pays, as `queries.payer` says it."""
    asked = (sa.select(kind, RepairOrder.number).join(RepairOrder, RepairOrder.id == kind.order_id)
             .join(Customer, Customer.id == payer).order_by(kind.id))
    return asked if customer_id is None else asked.where(Customer.id.in_(queries.records_of(customer_id)))
