"""A bill, as it was issued and never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app.documents.papers.shared import Goods, goods
from app.kernel.taxes import Taxed, TaxRule
from app.money import queries as money
from app.money.models import Bill
from app.money.rules import BillKind, EntryKind, Row
from app.orders.models import RepairOrder

VERSION = 1


@dataclass(frozen=True)
class BillFacts:
    """One bill: its rows as the price list means them, net, each tax and total; minor units of `currency`.

    `deposit_minor`: what had been paid before it was issued.
    """

    number: int
    goods: Goods
    bill: int
    kind: BillKind
    billed_on: date
    due_on: date
    to_name: str
    to_address: str
    currency: str
    rows: tuple[Row, ...]
    sums: Taxed
    tax_rule: TaxRule
    agreed_minor: int
    disclosed: str
    deposit_minor: int
    by_name: str
    version: int = VERSION

    @property
    def to_pay_minor(self) -> int:
        return self.sums.total_minor - self.deposit_minor

    @property
    def taxes(self) -> list[tuple[str, int]]:
        """Each tax in words, with its sum."""
        return [(tax.words, minor) for tax, minor in zip(self.tax_rule.taxes, self.sums.taxes_minor, strict=True)]


def facts(order: RepairOrder, about: int = 0) -> BillFacts | None:
    """One bill of this order; None if there is no such bill."""
    found = money.find_bill(about)
    if found is None or found.order_id != order.id:
        return None
    return BillFacts(
        number=order.number, goods=goods(order.amp), bill=found.number, kind=found.kind, billed_on=found.billed_on,
        due_on=found.due_on, to_name=found.to_name, to_address=found.to_address, currency=found.currency, rows=found.rows,
        sums=found.sums, tax_rule=found.tax_rule, agreed_minor=found.agreed_minor, disclosed=found.disclosed,
        deposit_minor=min(found.total_minor, _paid_before(order, found)), by_name=found.by_name)


def _paid_before(order: RepairOrder, bill: Bill) -> int:
    """Deposits that were entered before this bill and stand, where it is the first."""
    account = money.account(order.id)
    if account.bills and account.bills[0].id != bill.id:
        return 0
    return sum(one.entered.counts_minor for one in account.entries
               if one.kind is EntryKind.DEPOSIT and one.struck_at is None and one.recorded_at < bill.at)
