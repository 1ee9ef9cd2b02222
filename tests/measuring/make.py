"""Instruments and readings, made as the bench makes them. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import date
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.measuring.models import Instrument, Point
from app.measuring.rules import Kind, Quantity, Statement
from app.measuring.service import instruments as instruments_service
from app.measuring.service import points as points_service
from app.measuring.spec import InstrumentFacts, PointFacts
from app.orders.models import RepairOrder
from tests.factories import NOW
from tests.people import BY

# Accuracy statements of the kind a bench meter carries (R8 of the reference values: 0.5 % + 3 counts).
METER = (Statement(Quantity.VOLT_DC, 600, 0.5, 3, 0.1), Statement(Quantity.VOLT_AC, 600, 1.0, 3, 0.1),
         Statement(Quantity.AMP_DC, 0.2, 1.0, 3, 1e-4), Statement(Quantity.OHM, 20e3, 0.5, 3, 1.0))


def instrument(name: str = "M2", *, stated: tuple[Statement, ...] = METER, **given: Any) -> Instrument:
    """A multimeter in date on NOW, unless told otherwise; the shop's own, if it has one of this name and nothing else is asked."""
    known = session().scalar(sa.select(Instrument).where(Instrument.name == name))
    if known is not None and not given:
        return known
    facts = {"kind": Kind.MULTIMETER, "serial": "40217", "category": "CAT III 600 V",
             "calibrated_on": date(2025, 6, 1), "due_on": date(2026, 6, 1), "certificate": "K-881", **given}
    made = instruments_service.add_instrument(InstrumentFacts(name=name, **facts), by=BY, now=NOW)
    for one in stated:
        instruments_service.state_accuracy(made, one, by=BY, now=NOW)
    return made


def point(order: RepairOrder, name: str = "HT1, reservoir", *, quantity: Quantity = Quantity.VOLT_DC,
          expected: float | None = 438.0, lower: float | None = 421.0, upper: float | None = 455.0,
          basis: str = "computed from its parts") -> Point:
    """A point with limits."""
    return points_service.add_point(order, PointFacts(name, quantity, expected, lower, upper, basis), by=BY, now=NOW)
