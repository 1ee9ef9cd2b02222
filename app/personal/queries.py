"""What stands open with a customer, what they are called, and who is due for erasure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa
from sqlalchemy.orm import selectinload

from app.db import session
from app.handover.models import Disposal
from app.incidents.models import Incident
from app.kernel.money import show
from app.money import queries as money
from app.orders.models import RepairOrder
from app.personal import retention, scope, walking
from app.personal.models import Erasure, KeptPaper
from app.personal.rules.hindrances import Standing
from app.personal.rules.replacing import Replacer, Words, words_of
from app.personal.rules.retention import due_on
from app.records.models import Customer
from app.shop.queries import day, the_shop


def find_customer(customer_id: int) -> Customer | None:
    """The customer with this id, an erased one too."""
    return session().get(Customer, customer_id)


def erasure_of(customer_id: int) -> Erasure | None:
    """The erasure of this customer, if they were erased."""
    return session().scalar(sa.select(Erasure).where(Erasure.customer_id == customer_id))


def find_kept(kept_id: int) -> KeptPaper | None:
    """The kept paper with this id."""
    return session().get(KeptPaper, kept_id)


def day_words(value: date) -> str:
    """A day as this shop writes it."""
    return day(value)


def standing(customer: Customer) -> Standing:
    """What is open with this customer."""
    orders = scope.orders_of(customer)
    ids, numbers = [order.id for order in orders], {order.id: order.number for order in orders}
    sums = [(order.number, money.account(order.id).balance) for order in orders]
    currency = the_shop().currency
    disposals = session().scalars(sa.select(Disposal).where(Disposal.order_id.in_(ids)))
    about = session().scalars(sa.select(Incident).options(selectinload(Incident.entries)).where(
        sa.or_(Incident.customer_id.in_(scope.ids_of(customer)), Incident.order_id.in_(ids))).order_by(Incident.id))
    return Standing(
        tuple(order.number for order in orders if order.is_open),
        tuple((number, show(one.owed_minor, currency)) for number, one in sums if one.owed_minor > 0),
        tuple(one.id for one in about if not one.settled),
        tuple((numbers[one.order_id], one.kept_until, day(one.kept_until)) for one in disposals),
        customer.erased_at is not None,
        session().get_one(Customer, customer.merged_into_id).name if customer.merged_into_id else "",
        tuple((number, show(one.held_minor, currency)) for number, one in sums if one.held_minor))


def replacer_of(customer: Customer, orders: Sequence[RepairOrder], further: tuple[str, ...] = ()) -> Replacer:
    """What puts a word in this person's place; what another customer is called or reached by too is theirs to keep."""
    known = words_of(scope.told_of(customer))
    reached = walking.where_reached(customer, scope.rows_of(customer, orders))
    words = Words(known.names, known.phones | {one for one in reached if "@" not in one},
                  known.emails | {one for one in reached if "@" in one}, known.addresses,
                  frozenset(one.strip() for one in further if one.strip()))
    return Replacer(words, f"Erased person {customer.id}", _of_others(customer, words))


def _of_others(customer: Customer, words: Words) -> Words:
    asked = sa.select(Customer.name, Customer.phone, Customer.email, Customer.address).where(
        Customer.id.not_in(scope.ids_of(customer)), sa.or_(Customer.name.in_(words.names), Customer.phone.in_(words.phones),
                                           Customer.email.in_(words.emails), Customer.address.in_(words.addresses)))
    return words_of(row._asdict() for row in session().execute(asked))


@dataclass(frozen=True)
class Due:
    """A customer whose time is over: since when, and what the last thing was that the shop had to do with them."""

    customer: Customer
    since: date
    last: str


def due(until: date) -> list[Due]:
    """Every customer who is due by this day, longest due first; nobody with an open repair."""
    years = customer_years()
    zone = the_shop().zone
    every = (sa.select(role.label("who"), RepairOrder.number, RepairOrder.ended_at) for role in scope.ROLES)
    roles = sa.union_all(*every).subquery()
    last: dict[int, tuple[date | None, int]] = {}
    for who, number, ended_at in session().execute(sa.select(roles.c.who, roles.c.number, roles.c.ended_at)):
        ended = ended_at.astimezone(zone).date() if ended_at is not None else None
        before = last.get(who)
        if before is None or ended is None or (before[0] is not None and ended > before[0]):
            last[who] = (ended, number)
    found = []
    for customer in session().scalars(sa.select(Customer).where(Customer.erased_at.is_(None)).order_by(Customer.id)):
        ended, number = last.get(customer.id, (customer.added_at.astimezone(zone).date(), 0))
        if ended is not None and (since := due_on(ended, years)) <= until:
            found.append(Due(customer, since, f"repair {number} ended" if number else "the record was made, without a repair"))
    return sorted(found, key=lambda one: (one.since, one.customer.id))


def customer_years() -> int:
    """For how many years customers are kept after their last repair: the shop's own choice, never shorter than a law's period."""
    periods = [one.years for one in retention.for_jurisdiction(the_shop().jurisdiction) if one.years is not None]
    return max([the_shop().customer_years, *periods])


def kept_over(today: date) -> Sequence[KeptPaper]:
    """Papers that were kept after an erasure and whose day is past."""
    return session().scalars(sa.select(KeptPaper).where(KeptPaper.removed_at.is_(None), KeptPaper.until < today)
                             .order_by(KeptPaper.until, KeptPaper.id)).all()
