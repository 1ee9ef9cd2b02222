"""The look for obvious danger, and the quarantine that may follow."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.intake.models import FirstLook
from app.intake.rules import Looked
from app.intake.service.writing import put, say
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import power
from app.orders.models import Quarantine, RepairOrder
from app.orders.service import must_be_open


def look(order: RepairOrder, seen: Looked, *, by: Actor, now: datetime) -> FirstLook:
    """Keep what was seen. Any danger puts the amp in quarantine; seeing less later lifts nothing."""
    must_be_open(order)
    if seen.energised and not seen.energised_why.strip():
        raise BadInput("Enter why it was switched on at the counter, and what happened.", "energised_why")
    facts = {"dangers": [one.value for one in seen.dangers], "other": seen.other.strip(), "mains_joined": seen.mains_joined,
             "energised": seen.energised,
             "energised_why": seen.energised_why.strip() if seen.energised else ""}
    found = session().scalar(sa.select(FirstLook).where(FirstLook.order_id == order.id))
    if found is not None:
        put(found, facts, Event.FIRST_LOOK_CHANGED, by=by, now=now)
    else:
        found = FirstLook(order_id=order.id, at=now, by_name=by.name, **facts)
        session().add(found)
        told = {**facts, "dangers": facts["dangers"] or "none seen"}
        record(Event.FIRST_LOOK_RECORDED, found, by=by, now=now,
               after={name: say(value) for name, value in told.items() if say(value) is not None})
    if seen.quarantine_reason and power.do_not_energise(order.id) is None:
        impound(order, seen.quarantine_reason, by=by, now=now)
    return found


def impound(order: RepairOrder, reason: str, *, by: Actor, now: datetime) -> Quarantine:
    """Do not energise, and why."""
    must_be_open(order)
    if not reason.strip():
        raise BadInput("Enter why it must not be energised.", "reason")
    if power.do_not_energise(order.id) is not None:
        raise RuleBroken("This amp is marked “do not energise” already.")
    quarantine = Quarantine(order_id=order.id, reason=reason.strip(), set_at=now, set_by=by.name)
    session().add(quarantine)
    record(Event.QUARANTINE_SET, quarantine, by=by, now=now, after={"do not energise": True}, reason=quarantine.reason)
    return quarantine


def lift(order: RepairOrder, reason: str, *, by: Actor, now: datetime) -> Quarantine:
    """The danger is dealt with, and how. The page lets only the bench and the owner do this."""
    must_be_open(order)
    standing = power.do_not_energise(order.id)
    if standing is None:
        raise RuleBroken("This amp is not marked “do not energise”.")
    if not reason.strip():
        raise BadInput("Enter how the danger was removed.", "reason")
    standing.lifted_at, standing.lifted_by, standing.lifted_reason = now, by.name, reason.strip()
    record(Event.QUARANTINE_LIFTED, standing, by=by, now=now, before={"do not energise": True},
           after={"do not energise": False}, reason=standing.lifted_reason)
    return standing
