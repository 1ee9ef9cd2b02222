"""Opening a come-back: a new order at intake that names the one before."""

from __future__ import annotations

from datetime import datetime

from app.errors import RuleBroken
from app.intake.service.checking_in import CheckIn, check_in
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.shop.models import Shop


def come_back(before: RepairOrder, complaint: str, under_warranty: bool | None, shop: Shop, *, by: Actor,
              now: datetime) -> RepairOrder:
    """The same amp and people, a new complaint, and whether it is under warranty (None: the bench will judge)."""
    if before.is_open:
        raise RuleBroken("This repair order has not ended yet: work goes on in it.")
    order = check_in(CheckIn(before.depositor, before.amp, complaint, before), shop, by=by, now=now)
    order.owner_id, order.authority_id = before.owner_id, before.authority_id
    order.under_warranty = under_warranty
    judged = {True: "yes", False: "no", None: "to be judged at the bench"}[under_warranty]
    record(Event.COME_BACK_JUDGED, order, by=by, now=now, after={"under warranty": judged,
                                                                 "comes back after repair": before.number})
    return order
