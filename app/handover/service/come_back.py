"""Opening a come-back: a new order at intake that names the one before."""

from __future__ import annotations

from datetime import datetime

from app.errors import BadInput, RuleBroken
from app.intake.service.checking_in import CheckIn, check_in
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.shop.models import Shop


def must_have_left(before: RepairOrder) -> None:
    """RuleBroken unless the amp went out of the house by this order."""
    if before.is_open:
        raise RuleBroken("This repair order has not ended yet: work goes on in it.")
    if before.ended_as is End.VOID:
        raise RuleBroken("This order is void: nothing was repaired in it. Check the amp in again.")


def come_back(before: RepairOrder, complaint: str, under_warranty: bool | None, shop: Shop, *, by: Actor,
              now: datetime) -> RepairOrder:
    """The same amp and people, a new complaint, and whether it is under warranty (None: the bench will judge).

    BadInput for a come-back of which nobody has found that the customer pays.
    """
    must_have_left(before)
    if under_warranty is False:
        raise BadInput("That the customer pays for a come-back is said by its verdict: open it, compare, then record the verdict.",
                       "warranty")
    order = check_in(CheckIn(before.depositor, before.amp, complaint, before), shop, by=by, now=now)
    order.owner_id, order.authority_id = before.owner_id, before.authority_id
    order.under_warranty = under_warranty
    judged = "yes" if under_warranty else "to be judged at the bench"
    record(Event.COME_BACK_JUDGED, order, by=by, now=now, after={"under warranty": judged,
                                                                 "comes back after repair": before.number})
    return order
