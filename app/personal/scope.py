"""Which records are about a customer: their repairs, all that hangs on these, incidents, and what was ever said of them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

import sqlalchemy as sa

from app.db import Base, session
from app.intake.models import Acceptance
from app.journal.models import JournalEntry
from app.orders.models import CostAuthority, RepairOrder
from app.records.models import Customer

AT_ONCE = 500  # keys in one question
ROLES = (RepairOrder.depositor_id, RepairOrder.owner_id, RepairOrder.authority_id)
# Made from other records, or of the house; a customer's own are found by themselves.
NOT_THEIRS = frozenset({"journal_entry", "order_standing", "order_outlook", "search_entry", "customer", "amp", "person"})
_T = TypeVar("_T")
Rows = dict[str, set[int]]  # table → keys


def parts(every: Sequence[_T]) -> Iterator[Sequence[_T]]:
    """The same, so many at once."""
    for at in range(0, len(every), AT_ONCE):
        yield every[at:at + AT_ONCE]


def records_of(customer: Customer) -> list[Customer]:
    """The record, and those of the same person that were merged into it."""
    merged = session().scalars(sa.select(Customer).where(Customer.merged_into_id == customer.id).order_by(Customer.id))
    return [customer, *merged]


def ids_of(customer: Customer) -> list[int]:
    """Their keys."""
    return [one.id for one in records_of(customer)]


def orders_of(customer: Customer) -> list[RepairOrder]:
    """Every repair in which they were named: who left the amp, its owner, who approves, approved or signed, then or now."""
    ids = ids_of(customer)
    named = sa.select(CostAuthority.order_id).where(CostAuthority.agreed_by_id.in_(ids)).union(
        sa.select(Acceptance.order_id).where(Acceptance.signer_id.in_(ids)))
    asked = sa.select(RepairOrder).where(sa.or_(*(role.in_(ids) for role in ROLES), RepairOrder.id.in_(named)))
    return list(session().scalars(asked.order_by(RepairOrder.id)))


def rows_of(customer: Customer, orders: Iterable[RepairOrder]) -> Rows:
    """Every record of these repairs, by table: those that name a repair, and those that hang on such a one."""
    found: Rows = {RepairOrder.__tablename__: {order.id for order in orders}}
    for table in Base.metadata.sorted_tables:
        if table.name in found or table.name in NOT_THEIRS or "id" not in table.columns:
            continue
        keys = set(_keys(table, found))
        if "customer_id" in table.columns and table.name != "erasure":  # it may be about no repair
            keys |= set(session().scalars(sa.select(table.c.id).where(table.c.customer_id.in_(ids_of(customer)))))
        if keys:
            found[table.name] = keys
    return found


def _keys(table: sa.Table, found: Rows) -> Iterator[int]:
    if "order_id" in table.columns:
        columns = [(table.c.order_id, RepairOrder.__tablename__)]
    else:
        columns = [(key.parent, key.column.table.name) for key in table.foreign_keys if key.column.table.name in found]
    for column, name in columns:
        for some in parts(sorted(found[name])):
            yield from session().scalars(sa.select(table.c.id).where(column.in_(some)))


def told_of(customer: Customer) -> list[dict[str, Any]]:
    """What the record of this customer says, and all that it said before, as the journal has it."""
    records = records_of(customer)
    told: list[dict[str, Any]] = [{"name": one.name, "phone": one.phone, "email": one.email, "address": one.address}
                                  for one in records]
    asked = sa.select(JournalEntry.before, JournalEntry.after).where(
        JournalEntry.subject_type == Customer.__tablename__, JournalEntry.subject_id.in_([one.id for one in records]))
    for before, after in session().execute(asked):
        told += [json.loads(before), json.loads(after)]
    return told


def others_alike(customer: Customer) -> list[Customer]:
    """Other customers of the same name, phone or e-mail: the same person twice, or somebody of their household."""
    same = [column == value for column, value in ((Customer.name, customer.name), (Customer.phone, customer.phone),
                                                  (Customer.email, customer.email)) if value]
    return list(session().scalars(sa.select(Customer).where(Customer.id.not_in(ids_of(customer)), Customer.erased_at.is_(None),
                                                            sa.or_(*same)).order_by(Customer.id)))
