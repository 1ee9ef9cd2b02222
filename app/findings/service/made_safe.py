"""Making an amp safe, and the end of that when it is powered again."""

from __future__ import annotations

import math
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.findings import queries
from app.findings.models.made_safe import MadeSafe
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.shop.queries import the_shop


def record_made_safe(order: RepairOrder, *, volts: float, across: str, instrument: str, how: str, by: Actor,
                     now: datetime) -> MadeSafe:
    """Volts measured after discharge, of either sign. BadInput if they are not below the shop's limit."""
    must_be_open(order)
    limit = the_shop().safe_volts
    if not math.isfinite(volts) or abs(volts) >= limit:
        raise BadInput(f"{abs(volts):g} V is not safe: discharge again and measure again. "
                       f"Hands go in below {limit:g} V.", "volts")
    if not instrument.strip():
        raise BadInput("Say which meter measured it.", "instrument")
    standing = queries.made_safe(order)
    if standing is not None:
        _expire(standing, reason="measured again", by=by, now=now)
    made = MadeSafe(order_id=order.id, volts=abs(volts), limit_volts=limit, across=" ".join(across.split()),
                    instrument=" ".join(instrument.split()), how=" ".join(how.split()), at=now, by_name=by.name)
    session().add(made)
    chassis.opened(order.id, "the supply was discharged", by=by, now=now)
    record(Event.MADE_SAFE, made, by=by, now=now, after={
        "volts": made.volts, "limit": limit, "across": made.across, "meter": made.instrument, "discharged": made.how})
    return made


def powered_again(order: RepairOrder, *, reason: str, by: Actor, now: datetime) -> bool:
    """The amp was powered: what was measured holds no more. False if nothing stood."""
    standing = queries.made_safe(order)
    if standing is None:
        return False
    _expire(standing, reason=reason.strip() or "powered again", by=by, now=now)
    return True


def _expire(standing: MadeSafe, *, reason: str, by: Actor, now: datetime) -> None:
    standing.expired_at, standing.expired_by, standing.expired_reason = now, by.name, reason
    record(Event.POWERED_AGAIN, standing, by=by, now=now, before={"made safe": True}, after={"made safe": False},
           reason=reason)
