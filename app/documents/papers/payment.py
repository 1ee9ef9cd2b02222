"""The receipt of a deposit, a payment or a refund."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.documents.papers.shared import Goods, goods
from app.money import queries as money
from app.money.rules import EntryKind, Method
from app.orders.models import RepairOrder
from app.shop.queries import the_shop

VERSION = 1


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


def facts(order: RepairOrder, about: int = 0) -> PaymentFacts | None:
    """One deposit, payment or refund of this order; None if there is no such entry."""
    found = money.find_entry(about)
    if found is None or found.order_id != order.id or not found.kind.moves_money:
        return None
    bills = tuple(one.number for one in money.account(order.id).bills if one.at <= found.recorded_at)
    return PaymentFacts(
        number=order.number, goods=goods(order.amp), kind=found.kind, amount_minor=found.amount_minor,
        rounding_minor=found.rounding_minor, method=found.method, paid_at=found.paid_at, taken_by=found.taken_by,
        name=money.payer(order).name, note=found.note, currency=the_shop().currency, bills=bills, struck=found.struck_reason)
