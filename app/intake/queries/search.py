"""Finding people, amps and orders by words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import InstrumentedAttribute, aliased, selectinload

from app.db import session
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.records.rules import search_words

AT_THE_COUNTER = 8
ON_A_PAGE = 50


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
    """Customers whose name, phone or e-mail, or whose amps' maker, model or serial, hold every word typed."""
    words = search_words(typed)
    if not words:
        return []
    wanted = sa.select(Customer).order_by(Customer.name, Customer.id).limit(AT_THE_COUNTER)
    for word in words:
        brought = sa.exists().where(RepairOrder.amp_id == Amp.id, _is_of(Customer.id), _holds(Amp.find_text, word))
        wanted = wanted.where(sa.or_(_holds(Customer.find_text, word), brought))
    found = session().scalars(wanted).all()
    amps = _amps_of(one.id for one in found)
    return [Match(one, tuple(amps.get(one.id, ()))) for one in found]


def amps_of(customer_id: int) -> list[Amp]:
    """The amps that somebody left or owns, newest visit first."""
    return _amps_of([customer_id]).get(customer_id, [])


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
    """Customers, amps and orders that hold every word typed; orders also by number. Nothing typed: the newest."""
    words = search_words(typed)
    customers = session().scalars(sa.select(Customer).where(*(_holds(Customer.find_text, word) for word in words))
                                  .order_by(Customer.id.desc()).limit(ON_A_PAGE + 1)).all()
    amps = session().scalars(sa.select(Amp).where(*(_holds(Amp.find_text, word) for word in words))
                             .order_by(Amp.id.desc()).limit(ON_A_PAGE + 1)).all()
    orders = session().scalars(_orders_holding(words).limit(ON_A_PAGE + 1)).all()
    more = any(len(found) > ON_A_PAGE for found in (customers, amps, orders))
    return Records(customers[:ON_A_PAGE], amps[:ON_A_PAGE], orders[:ON_A_PAGE], more)


def _orders_holding(words: list[str]) -> sa.Select[RepairOrder]:
    who = aliased(Customer)
    wanted = (sa.select(RepairOrder).join(Amp, RepairOrder.amp_id == Amp.id)
              .join(who, RepairOrder.depositor_id == who.id).order_by(RepairOrder.number.desc())
              .options(selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor)))
    for word in words:
        number = RepairOrder.number == int(word) if word.isascii() and word.isdigit() and len(word) < 9 else sa.false()
        wanted = wanted.where(sa.or_(number, _holds(Amp.find_text, word), _holds(who.find_text, word)))
    return wanted


def _holds(column: InstrumentedAttribute[str], word: str) -> sa.ColumnElement[bool]:
    return column.contains(word, autoescape=True)


def _is_of(customer_id: sa.ColumnElement[int] | InstrumentedAttribute[int]) -> sa.ColumnElement[bool]:
    return sa.or_(RepairOrder.depositor_id == customer_id, RepairOrder.owner_id == customer_id)


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
