"""A credit note, and the bill that it corrects."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app.documents.papers.shared import Goods, goods
from app.kernel.taxes import Taxed, TaxRule
from app.money import queries as money
from app.orders.models import RepairOrder

VERSION = 1


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


def facts(order: RepairOrder, about: int = 0) -> CreditFacts | None:
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
