"""Finding people, amps and orders by words, and what belongs to whom."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import selectinload

from app.db import session
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.search import queries as search
from app.search.models import Kind
from app.search.rules import understand
from app.shop.queries import country

AT_THE_COUNTER = 8
ON_A_PAGE = 50
Record = TypeVar("Record", Customer, Amp, RepairOrder)


@dataclass(frozen=True)
class Match:
    """Somebody the shop knows, with the amps they have brought, newest first."""

    customer: Customer
    amps: tuple[Amp, ...]


@dataclass(frozen=True)
class Records:
    """What a search over the records found; `more` if there was more than is shown."""

    customers: Sequence[Customer]
    amps: Sequence[Amp]
    orders: Sequence[RepairOrder]
    more: bool


def find_customer(customer_id: int) -> Customer | None:
    """The customer with this id."""
    return session().get(Customer, customer_id)


def find_amp(amp_id: int) -> Amp | None:
    """The amp with this id."""
    return session().get(Amp, amp_id)


def matches(typed: str) -> list[Match]:
    """Customers whose name, phone or e-mail, or whose amps' maker, model or serial, hold every word typed; by name."""
    found = session().scalars(sa.select(Customer).where(Customer.id.in_(_found(Kind.CUSTOMER, typed, AT_THE_COUNTER)))
                              .order_by(Customer.name, Customer.id)).all()
    amps = _amps_of(one.id for one in found)
    return [Match(one, tuple(amps.get(one.id, ()))) for one in found]


def amps_of(customer_id: int) -> list[Amp]:
    """The amps that somebody left or owns, newest visit first."""
    return _amps_of([customer_id]).get(customer_id, [])


def merged_into(record: Customer | Amp) -> list[Any]:
    """The records of the same customer or amp that were merged into this one, oldest first."""
    model = type(record)
    return list(session().scalars(sa.select(model).where(model.merged_into_id == record.id).order_by(model.id)))


def orders_of_amp(amp_id: int) -> Sequence[RepairOrder]:
    """Every repair of this amp, newest first."""
    return _orders(RepairOrder.amp_id == amp_id)


def orders_of_customer(customer_id: int) -> Sequence[RepairOrder]:
    """Every repair that somebody left, owns or may approve, newest first."""
    return _orders(sa.or_(RepairOrder.depositor_id == customer_id, RepairOrder.owner_id == customer_id,
                          RepairOrder.authority_id == customer_id))


def earlier_orders(order: RepairOrder) -> Sequence[RepairOrder]:
    """Earlier repairs of the same amp, newest first."""
    return _orders(sa.and_(RepairOrder.amp_id == order.amp_id, RepairOrder.id != order.id))


def records(typed: str) -> Records:
    """Customers, amps and orders that the search finds by these words. Nothing typed: the newest."""
    people = (selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor))
    customers = _shown(sa.select(Customer), Customer, Kind.CUSTOMER, typed)
    amps = _shown(sa.select(Amp), Amp, Kind.AMP, typed)
    orders = _shown(sa.select(RepairOrder).options(*people), RepairOrder, Kind.ORDER, typed)
    more = any(len(found) > ON_A_PAGE for found in (customers, amps, orders))
    return Records(customers[:ON_A_PAGE], amps[:ON_A_PAGE], orders[:ON_A_PAGE], more)


def _shown(asked: sa.Select[Any], model: type[Record], kind: Kind, typed: str) -> list[Record]:
    """One more than a page holds, in the order in which they were found."""
    if not typed:
        if issubclass(model, Customer | Amp):
            asked = asked.where(model.merged_into_id.is_(None))
        return list(session().scalars(asked.order_by(model.id.desc()).limit(ON_A_PAGE + 1)))
    ids = _found(kind, typed, ON_A_PAGE + 1)
    by_id = {one.id: one for one in session().scalars(asked.where(model.id.in_(ids)))}
    return [by_id[one] for one in ids if one in by_id]


def _found(kind: Kind, typed: str, limit: int) -> list[int]:
    return search.find(kind, understand(typed, country()), limit)


def _orders(where: sa.ColumnElement[bool]) -> Sequence[RepairOrder]:
    return session().scalars(sa.select(RepairOrder).where(where).order_by(RepairOrder.number.desc())
                             .options(selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor))).all()


def _amps_of(customer_ids: Iterable[int]) -> dict[int, list[Amp]]:
    wanted = list(customer_ids)
    rows = session().execute(sa.select(RepairOrder.depositor_id, RepairOrder.owner_id, Amp)
                             .join(Amp, RepairOrder.amp_id == Amp.id)
                             .where(sa.or_(RepairOrder.depositor_id.in_(wanted), RepairOrder.owner_id.in_(wanted)))
                             .order_by(RepairOrder.id.desc())).all()
    found: dict[int, list[Amp]] = {}
    for depositor_id, owner_id, amp in rows:
        for who in {depositor_id, owner_id}.intersection(wanted):
            if amp not in found.setdefault(who, []):
                found[who].append(amp)
    return found
