"""How orders, customers and amps are found, and what warns about an order wherever it is named."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import Session, selectinload

from app.access.rules import May
from app.intake.models import Complaint
from app.orders.models import Quarantine, RepairOrder
from app.records.models import Amp, Customer
from app.search.models import Kind
from app.search.service import Entry, Finds, Ids, Source

_NAMED = frozenset({"name", "phone", "email"})
_MARKED = frozenset({"maker", "model", "serial"})
_MERGED = frozenset({"merged_into_id"})
M = TypeVar("M", Customer, Amp)
_PEOPLE = {"depositor_id": Customer, "owner_id": Customer, "authority_id": Customer}
_BROUGHT_BY = (RepairOrder.depositor_id, RepairOrder.owner_id)


def do_not_energise(current: Session, order_ids: Ids) -> dict[int, str]:
    """Of these orders, those whose amp must not be energised, and why."""
    asked = sa.select(Quarantine.order_id, Quarantine.reason).where(
        Quarantine.order_id.in_(order_ids), Quarantine.lifted_at.is_(None))
    return {row[0]: row[1] for row in current.execute(asked)}


def do_not_energise_amps(current: Session, amp_ids: Ids) -> dict[int, str]:
    """Of these amps, those that must not be energised, and why."""
    asked = (sa.select(RepairOrder.amp_id, Quarantine.reason).join(Quarantine, Quarantine.order_id == RepairOrder.id)
             .where(RepairOrder.amp_id.in_(amp_ids), Quarantine.lifted_at.is_(None)))
    return {row[0]: row[1] for row in current.execute(asked)}


def _orders_with_people(ids: Ids) -> sa.Select[Any]:
    return sa.select(RepairOrder.id).where(sa.or_(*(column.in_(ids) for column in (*_BROUGHT_BY, RepairOrder.authority_id))))


def _orders_with_amps(ids: Ids) -> sa.Select[Any]:
    return sa.select(RepairOrder.id).where(RepairOrder.amp_id.in_(ids))


def _orders_with_complaints(ids: Ids) -> sa.Select[Any]:
    return sa.select(Complaint.order_id).where(Complaint.id.in_(ids))


def _describe_orders(current: Session, ids: Ids) -> Iterable[Entry]:
    orders = current.scalars(sa.select(RepairOrder).where(RepairOrder.id.in_(ids)).options(
        selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor), selectinload(RepairOrder.owner),
        selectinload(RepairOrder.authority)))
    asked = sa.select(Complaint.order_id, Complaint.words).where(Complaint.order_id.in_(ids))
    complaints = {row[0]: row[1] for row in current.execute(asked)}
    for order in orders:
        yield Entry(order.id, order.id, f"{order.number} · {order.amp.title}",
                    (("left by", order.depositor.name), *_others(order), *_reached(order), ("serial", order.amp.serial),
                     ("complaint", complaints.get(order.id, ""))))


def _others(order: RepairOrder) -> list[tuple[str, str]]:
    """Owner and who approves cost, where they are not who left it."""
    people = (("owner", order.owner), ("may approve cost", order.authority))
    return [(label, who.name) for label, who in people if who.id != order.depositor_id]


def _reached(order: RepairOrder) -> list[tuple[str, str]]:
    people = {who.id: who for who in (order.depositor, order.owner, order.authority)}.values()
    return [fact for who in people for fact in (("phone", who.phone), ("e-mail", who.email))]


def _with_merged(model: type[Customer] | type[Amp]) -> Callable[[Ids], sa.CompoundSelect[Any]]:
    """Of records that were written: themselves, and those that they are merged into."""
    def concerned(ids: Ids) -> sa.CompoundSelect[Any]:
        return sa.union(sa.select(model.id).where(model.id.in_(ids)),
                        sa.select(model.merged_into_id).where(model.id.in_(ids), model.merged_into_id.is_not(None)))
    return concerned


def _customers_of_orders(ids: Ids) -> sa.CompoundSelect[Any]:
    return sa.union(*(sa.select(column).where(RepairOrder.id.in_(ids)) for column in _BROUGHT_BY))


def _customers_of_amps(ids: Ids) -> sa.CompoundSelect[Any]:
    return sa.union(*(sa.select(column).where(RepairOrder.amp_id.in_(ids)) for column in _BROUGHT_BY))


def _describe_customers(current: Session, ids: Ids) -> Iterable[Entry]:
    amps: dict[int, dict[int, str]] = {}
    for column in _BROUGHT_BY:
        asked = (sa.select(column, Amp.id, Amp.maker, Amp.model, Amp.serial).join(Amp, RepairOrder.amp_id == Amp.id)
                 .where(column.in_(ids)).order_by(Amp.id))
        for who, amp, *marks in current.execute(asked):
            amps.setdefault(who, {})[amp] = " ".join(one for one in marks if one)
    others = _merged(current, Customer, ids)
    for customer in current.scalars(sa.select(Customer).where(Customer.id.in_(ids), Customer.erased_at.is_(None),
                                                              Customer.merged_into_id.is_(None))):
        brought = (("amp", marks) for _, marks in sorted(amps.get(customer.id, {}).items()))
        known_as = (fact for one in others.get(customer.id, ())
                    for fact in (("also recorded as", one.name), ("phone", one.phone), ("e-mail", one.email)))
        yield Entry(customer.id, None, customer.name,
                    (("phone", customer.phone), ("e-mail", customer.email), *brought, *known_as))


def _merged(current: Session, model: type[M], ids: Ids) -> dict[int, list[M]]:
    """The records that were merged into each of these, oldest first."""
    found: dict[int, list[M]] = {}
    for one in current.scalars(sa.select(model).where(model.merged_into_id.in_(ids)).order_by(model.id)):
        found.setdefault(one.merged_into_id or 0, []).append(one)
    return found


def _describe_amps(current: Session, ids: Ids) -> Iterable[Entry]:
    others = _merged(current, Amp, ids)
    for amp in current.scalars(sa.select(Amp).where(Amp.id.in_(ids), Amp.merged_into_id.is_(None))):
        known_as = (fact for one in others.get(amp.id, ()) for fact in (("also recorded as", one.title), ("serial", one.serial)))
        yield Entry(amp.id, None, amp.title, (("serial", amp.serial), *known_as))


ORDERS = Finds(
    Kind.ORDER, May.SEE, lambda order_id, _: ("bench.order", {"order_id": order_id}),
    (Source(RepairOrder, frozenset({"number", "amp_id", *_PEOPLE})), Source(Customer, _NAMED, _orders_with_people),
     Source(Amp, _MARKED, _orders_with_amps), Source(Complaint, frozenset({"order_id", "words"}), _orders_with_complaints)),
    _describe_orders, RepairOrder)
CUSTOMERS = Finds(
    Kind.CUSTOMER, May.SEE, lambda customer_id, _: ("intake.customer", {"customer_id": customer_id}),
    (Source(Customer, _NAMED | _MERGED, _with_merged(Customer), {"merged_into_id": Customer}),
     Source(Amp, _MARKED, _customers_of_amps),
     Source(RepairOrder, frozenset({"amp_id"}), _customers_of_orders,
            {"depositor_id": Customer, "owner_id": Customer})),
    _describe_customers, Customer)
AMPS = Finds(Kind.AMP, May.SEE, lambda amp_id, _: ("intake.amp_record", {"amp_id": amp_id}),
             (Source(Amp, _MARKED | _MERGED, _with_merged(Amp), {"merged_into_id": Amp}),), _describe_amps, Amp)
