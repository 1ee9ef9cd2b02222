"""Judging a come-back: what the fault has to do with the earlier repair, on what that rests, and who pays."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import RuleBroken
from app.intake.come_back_rules import Judgement, Payer
from app.intake.models import ComeBackVerdict
from app.intake.queries import sheets
from app.intake.service.sheets import Offer, offer
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


def judge(order: RepairOrder, what: Judgement, *, by: Actor, now: datetime) -> ComeBackVerdict:
    """Keep this verdict; an earlier one stays readable and counts no more. RuleBroken if the order is no come-back."""
    must_be_open(order)
    if order.come_back_of is None:
        raise RuleBroken("This repair is not a come-back, so there is nothing to judge.")
    judged = what.checked()
    made = ComeBackVerdict(order_id=order.id, verdict=judged.verdict, payer=judged.payer, compared=judged.compared,
                           reasoning=judged.reasoning, at=now, by_name=by.name)
    session().add(made)
    order.under_warranty = judged.payer is not Payer.CUSTOMER  # what is charged is asked of the order: `who_pays`
    record(Event.COME_BACK_JUDGED, made, by=by, now=now, reason=judged.reasoning,
           after={"verdict": judged.verdict.value, "who pays": judged.payer.value,
                  "compared with as left and declined": judged.compared})
    offered = sheets.agreement(order.id)
    if judged.payer is not Payer.CUSTOMER and offered is not None and offered.ceiling_minor:
        offer(order, Offer(0, offered.fee_credited, 0, offered.declared_value_minor), by=by, now=now)
    return made
