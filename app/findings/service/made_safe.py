"""Making an amp safe: discharged, and measured."""

from __future__ import annotations

import math
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.findings.models.made_safe import MadeSafe
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis, power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.shop.queries import the_shop


def record_made_safe(order: RepairOrder, *, volts: float, across: str, instrument: str, how: str, by: Actor,
                     now: datetime) -> MadeSafe:
    """Volts measured after discharge, of either sign. BadInput if they are not below the shop's limit."""
    must_be_open(order)
    power.must_be_off(order)
    limit = the_shop().safe_volts
    if not math.isfinite(volts) or abs(volts) >= limit:
        raise BadInput(f"{abs(volts):g} V is not below the {limit:g} V limit. Discharge and measure again.", "volts")
    if not instrument.strip():
        raise BadInput("Enter which meter measured it.", "instrument")
    made_safe = MadeSafe(order_id=order.id, volts=abs(volts), limit_volts=limit, across=" ".join(across.split()),
                         instrument=" ".join(instrument.split()), how=" ".join(how.split()),
                         last_power_id=power.last_power_up(order.id), at=now, by_name=by.name)
    session().add(made_safe)
    chassis.opened(order.id, "the supply was discharged", by=by, now=now)
    record(Event.MADE_SAFE, made_safe, by=by, now=now, after={
        "volts": made_safe.volts, "limit": limit, "across": made_safe.across, "meter": made_safe.instrument,
        "discharged": made_safe.how})
    return made_safe
