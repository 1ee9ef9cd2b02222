"""A bill, a credit note, and the receipt of a payment: papers of what is written down and never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.documents.papers.shared import Goods, goods
from app.kernel.taxes import Taxed, TaxRule
from app.money import queries as money
from app.money.models import Bill
from app.money.rules import BillKind, EntryKind, Method, Row
from app.orders.models import RepairOrder
from app.shop.queries import the_shop

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


@dataclass(frozen=True)
class CreditFacts:
    """One credit note, and the bill that it corrects."""

    number: int
    goods: Goods
    credit: int
    bill: int
    billed_on: date
    billed_minor: int
    credited_on: date
    to_name: str
    to_address: str
    currency: str
    reason: str
    sums: Taxed
    tax_rule: TaxRule
    by_name: str
    version: int = VERSION

    @property
    def taxes(self) -> list[tuple[str, int]]:
        """Each tax in words, with its sum."""
        return [(tax.words, minor) for tax, minor in zip(self.tax_rule.taxes, self.sums.taxes_minor, strict=True)]


@dataclass(frozen=True)
class PaymentFacts:
    """One deposit, payment or refund; `struck`: why it does not count any more, empty while it does."""

    number: int
    goods: Goods
    kind: EntryKind
    amount_minor: int
    rounding_minor: int
    method: Method
    paid_at: datetime
    taken_by: str
    name: str
    note: str
    currency: str
    bills: tuple[int, ...]
    struck: str
    version: int = VERSION


def bill_facts(order: RepairOrder, about: int = 0) -> BillFacts | None:
    """One bill of this order; None if there is no such bill."""
    found = money.find_bill(about)
    if found is None or found.order_id != order.id:
        return None
    return BillFacts(
        number=order.number, goods=goods(order.amp), bill=found.number, kind=found.kind, billed_on=found.billed_on,
        due_on=found.due_on, to_name=found.to_name, to_address=found.to_address, currency=found.currency, rows=found.rows,
        sums=found.sums, tax_rule=found.tax_rule, agreed_minor=found.agreed_minor, disclosed=found.disclosed,
        deposit_minor=min(found.total_minor, _paid_before(order, found)), by_name=found.by_name)


def credit_facts(order: RepairOrder, about: int = 0) -> CreditFacts | None:
    """One credit note of this order; None if there is no such note."""
    found = money.find_credit(about)
    if found is None or found.order_id != order.id:
        return None
    bill, second = found.bill, found.second_tax_minor
    taxes = (found.tax_minor - second, second) if bill.second_tax_name else (found.tax_minor,)
    return CreditFacts(
        number=order.number, goods=goods(order.amp), credit=found.number, bill=bill.number, billed_on=bill.billed_on,
        billed_minor=bill.total_minor, credited_on=found.credited_on, to_name=bill.to_name, to_address=bill.to_address,
        currency=bill.currency, reason=found.reason, sums=Taxed(found.net_minor, taxes), tax_rule=bill.tax_rule,
        by_name=found.by_name)


def payment_facts(order: RepairOrder, about: int = 0) -> PaymentFacts | None:
    """One deposit, payment or refund of this order; None if there is no such entry."""
    found = money.find_entry(about)
    if found is None or found.order_id != order.id or not found.kind.moves_money:
        return None
    bills = tuple(one.number for one in money.account(order.id).bills if one.at <= found.recorded_at)
    return PaymentFacts(
        number=order.number, goods=goods(order.amp), kind=found.kind, amount_minor=found.amount_minor,
        rounding_minor=found.rounding_minor, method=found.method, paid_at=found.paid_at, taken_by=found.taken_by,
        name=order.authority.name, note=found.note, currency=the_shop().currency, bills=bills, struck=found.struck_reason)


def _paid_before(order: RepairOrder, bill: Bill) -> int:
    """Deposits that were entered before this bill and stand, where it is the first."""
    account = money.account(order.id)
    if account.bills and account.bills[0].id != bill.id:
        return 0
    return sum(one.entered.counts_minor for one in account.entries
               if one.kind is EntryKind.DEPOSIT and one.struck_at is None and one.recorded_at < bill.at)
