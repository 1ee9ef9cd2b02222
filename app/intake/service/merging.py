"""Two records of one customer, or of one amp, become one: repairs move to the record that is kept, the other stays readable."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TypeVar

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer

R = TypeVar("R", Customer, Amp)
ROLES = {"depositor_id": "left by", "owner_id": "owner", "authority_id": "may approve cost"}
FILLED = {Customer: ("phone", "email", "address", "note"), Amp: ("mains_marking", "valves", "covering", "marks")}


def merge_customers(kept: Customer, double: Customer, reason: str, *, by: Actor, now: datetime) -> None:
    """`double` is the same person as `kept`. What was signed or agreed keeps the name that stood there."""
    why = _may_merge(kept, double, reason)
    orders = session().scalars(sa.select(RepairOrder).order_by(RepairOrder.number).where(
        sa.or_(*(getattr(RepairOrder, role) == double.id for role in ROLES)))).all()
    for order in orders:
        roles = [role for role in ROLES if getattr(order, role) == double.id]
        for role in roles:
            setattr(order, role.removesuffix("_id"), kept)
        record(Event.PEOPLE_NAMED, order, by=by, now=now, reason=f"merged records: {why}",
               before={ROLES[role]: double.name for role in roles}, after={ROLES[role]: kept.name for role in roles})
    _merge(kept, double, (kept.name, double.name), orders, why, Event.CUSTOMERS_MERGED, by=by, now=now)


def merge_amps(kept: Amp, double: Amp, reason: str, *, by: Actor, now: datetime) -> None:
    """`double` is the same amp as `kept`. RuleBroken if both stand in the house by orders of their own."""
    why = _may_merge(kept, double, reason)
    orders = session().scalars(sa.select(RepairOrder).where(RepairOrder.amp_id == double.id).order_by(RepairOrder.number)).all()
    here = session().scalar(sa.select(RepairOrder).where(RepairOrder.amp_id == kept.id, RepairOrder.ended_as.is_(None)))
    twice = next((order for order in orders if order.is_open), None)
    if here is not None and twice is not None:
        raise RuleBroken(f"Both are checked in, as repair {here.number} and repair {twice.number}. "
                         "Void the order that was opened by mistake first.")
    for order in orders:
        order.amp = kept
        record(Event.AMPS_MERGED, order, by=by, now=now, reason=why, before={"amp": _called(double)}, after={"amp": _called(kept)})
    _merge(kept, double, (_called(kept), _called(double)), orders, why, Event.AMPS_MERGED, by=by, now=now)


def _may_merge(kept: R, double: R, reason: str) -> str:
    if kept.id == double.id:
        raise BadInput("Choose another record than this one.", "double_id")
    for one in (kept, double):
        if one.merged_into_id is not None:
            raise RuleBroken("One of these records was merged already. Open the record that was kept.")
        if isinstance(one, Customer) and one.erased_at is not None:  # it stands for nobody, and must hold nobody's number again
            raise RuleBroken(f"“{one.name}” was erased from the records. Nothing is merged with an erased record.")
    if not reason.strip():
        raise BadInput("Enter how you know that both are the same.", "reason")
    return reason.strip()


def _merge(kept: R, double: R, names: tuple[str, str], orders: Sequence[RepairOrder], why: str, event: Event,
           *, by: Actor, now: datetime) -> None:
    """What the kept record does not say is taken over; records merged into the other before follow it."""
    filled = {name: getattr(double, name) for name in FILLED[type(kept)] if getattr(double, name) and not getattr(kept, name)}
    for name, value in filled.items():
        setattr(kept, name, value)
    model = type(double)
    for earlier in session().scalars(sa.select(model).where(model.merged_into_id == double.id)):
        earlier.merged_into_id = kept.id
    double.merged_into_id = kept.id
    numbers = ", ".join(str(order.number) for order in orders) or "none"
    record(event, double, by=by, now=now, reason=why, after={"merged into": names[0], "repairs": numbers})
    record(event, kept, by=by, now=now, reason=why, before=dict.fromkeys(filled),
           after={"took in the record of": names[1], "repairs": numbers, **filled})


def _called(amp: Amp) -> str:
    return f"{amp.title}, serial {amp.serial or 'not read yet'}"
