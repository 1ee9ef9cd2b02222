"""Money as the counter takes it. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import datetime, timedelta

from app.db import session
from app.money import service
from app.money.models import Bill, CreditNote, MoneyEntry
from app.money.rules import EntryKind, Method
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from tests.factories import NOW
from tests.people import BY
from tests.quote import make as quotes

LATER = NOW + timedelta(days=1)


def order_to_bill() -> RepairOrder:
    """At the return, with one item of 142.50 labour and 42.00 parts agreed to: 202.95 with 10 % tax."""
    order = quotes.agreed_order()
    order.stage = Stage.RETURN
    session().flush()
    return order


def bill(order: RepairOrder, due_minor: int = 20_295, because: str = "", now: datetime = LATER) -> Bill:
    made = service.bill(order, due_minor, because, by=BY, now=now)
    session().flush()
    return made


def enter(order: RepairOrder, minor: int, kind: EntryKind = EntryKind.PAYMENT, method: Method = Method.CARD, note: str = "",
          now: datetime = LATER) -> MoneyEntry:
    made = service.enter(order, service.Entry(kind, minor, method, now, note), by=BY, now=now)
    session().flush()
    return made


def credit(of: Bill, minor: int, reason: str = "a valve was counted twice", now: datetime = LATER) -> CreditNote:
    made = service.credit(of, minor, reason, by=BY, now=now)
    session().flush()
    return made
