"""Opening, moving and ending a repair order."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, GateClosed, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis, power
from app.orders.gates import missing_in, missing_to_leave
from app.orders.models import Move, RepairOrder
from app.orders.stages import IN_ORDER, End, Stage, is_back, next_stage
from app.records.models import Customer


def open_order(*, amp_id: int, depositor_id: int, owner_id: int, authority_id: int, first_number: int, by: Actor,
               now: datetime, come_back_of: RepairOrder | None = None) -> RepairOrder:
    """A new order at intake, with the shop's next number. BadInput for somebody who was erased, or whose record was merged."""
    must_be_known(depositor_id, owner_id, authority_id)
    last = session().scalar(sa.select(sa.func.max(RepairOrder.number)))
    order = RepairOrder(number=max((last or 0) + 1, first_number), amp_id=amp_id, depositor_id=depositor_id,
                        owner_id=owner_id, authority_id=authority_id, stage=Stage.INTAKE, opened_at=now,
                        come_back_of=come_back_of)
    session().add(order)
    after = {"number": order.number, "stage": order.stage.word}
    if come_back_of:
        after["comes back after repair"] = come_back_of.number
    record(Event.ORDER_OPENED, order, by=by, now=now, after=after)
    return order


def must_be_known(*customer_ids: int) -> None:
    """Refuse a person who was erased, and a record that was merged into another: such a row stands for nobody any more."""
    asked = sa.select(Customer.name, Customer.erased_at).where(
        Customer.id.in_(customer_ids), sa.or_(Customer.erased_at.is_not(None), Customer.merged_into_id.is_not(None))).limit(1)
    found = session().execute(asked).first()
    if found is None:
        return
    if found.erased_at is not None:
        raise BadInput(f"“{found.name}” was erased from the records. Add the person as a new customer.")
    raise BadInput(f"This record of “{found.name}” was merged into another one. Choose the record that was kept.")


def move_on(order: RepairOrder, *, by: Actor, now: datetime) -> Stage:
    """To the next stage, if nothing is missing. GateClosed carries everything that is."""
    must_be_open(order)
    there = next_stage(order.stage)
    if there is None:
        raise RuleBroken("This is the last stage. Hand the amp out from the return page.")
    power.must_be_off(order)
    missing = missing_to_leave(order)
    if missing:
        raise GateClosed(f"{order.stage.word} is not finished.", missing)
    _move(order, there, Event.ORDER_MOVED, by=by, now=now, reason="")
    return there


def move_back(order: RepairOrder, there: Stage, *, reason: str, by: Actor, now: datetime) -> None:
    """To an earlier stage, with a reason."""
    must_be_open(order)
    if not is_back(order.stage, there):
        raise BadInput(f"{there.word} does not lie before {order.stage.word}.", "stage")
    if not reason.strip():
        raise BadInput("Enter why it goes back.", "reason")
    power.must_be_off(order)
    if IN_ORDER.index(there) < IN_ORDER.index(Stage.SAFETY_TEST):
        chassis.opened(order.id, f"the order went back to {there.word.lower()}", by=by, now=now)
    _move(order, there, Event.ORDER_MOVED_BACK, by=by, now=now, reason=reason.strip())


def end(order: RepairOrder, how: End, *, by: Actor, now: datetime, reason: str = "") -> None:
    """Close the order. As repaired only from the return stage and past every gate; otherwise past that end's own."""
    must_be_open(order)
    if how is End.REPAIRED and order.stage is not Stage.RETURN:
        raise RuleBroken("Move the repair to Return first: an amp leaves as repaired only from there.")
    if how is End.VOID and (order.stage is not Stage.INTAKE or order.moves):
        raise RuleBroken("This repair has left intake, so it was not opened by mistake. Return the amp unrepaired instead.")
    power.must_be_off(order)
    missing = missing_to_leave(order) if how is End.REPAIRED else ()
    missing += missing_in(order, how)
    if missing:
        raise GateClosed(f"Not ready for “{how.word}”: see the list.", missing)
    order.ended_as, order.ended_at = how, now
    order.left_shelf, order.shelf = order.shelf, ""  # its place is free again
    before = {"ended": None, **({"place": order.left_shelf} if order.left_shelf else {})}
    record(Event.ORDER_ENDED, order, by=by, now=now, before=before, after={"ended": how.word}, reason=reason)


def void(order: RepairOrder, reason: str, *, by: Actor, now: datetime) -> None:
    """An order that was opened by mistake: its number stays, its records stay readable, and nothing waits for it any more."""
    must_be_open(order)
    if not reason.strip():
        raise BadInput("Enter why this order is void.", "reason")
    end(order, End.VOID, by=by, now=now, reason=reason.strip())


def must_be_open(order: RepairOrder) -> None:
    """Nothing is added to an order that has ended; a come-back is a new order."""
    if not order.is_open:
        raise RuleBroken("This order is void: it was opened by mistake. Check the amp in again." if order.ended_as is End.VOID
                         else "The repair has ended. Check the amp in as a come-back.")


def must_be_open_still(order_id: int) -> None:
    """The same, for a record that names its order."""
    must_be_open(session().get_one(RepairOrder, order_id))


def _move(order: RepairOrder, there: Stage, event: Event, *, by: Actor, now: datetime, reason: str) -> None:
    here = order.stage
    order.stage = there
    session().add(Move(order=order, from_stage=here, to_stage=there, at=now, by_name=by.name, reason=reason))
    record(event, order, by=by, now=now, before={"stage": here.word}, after={"stage": there.word}, reason=reason)
