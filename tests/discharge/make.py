"""Lists of capacitors and rounds of readings, made as the bench makes them. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import date, datetime

from app.db import session
from app.discharge import queries, service
from app.discharge.models import DischargeRecord, SupplyList
from app.discharge.rules.listing import Layout
from app.discharge.service import Round, Stick
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.orders.models import RepairOrder
from tests.factories import NOW
from tests.measuring.make import instrument
from tests.people import BY

# The chain of the worked example, and a bias supply of one capacitor.
CHAIN = Layout("47u, 47u, 22u, 22u", "1k, 22k, 47k", "450", bias_farads="50u", bias_volts="100")
ONE = Layout("47u", "", "450", no_bias=True)
STICK = Stick(10e3, 10.0, 60.0)


def meter(name: str = "D1") -> Instrument:
    """A multimeter in date for years, that is stated up to 600 V d.c.; the one of this name if it is there."""
    found = next((one for one in measuring.instruments() if one.name == name), None)
    return found or instrument(name, calibrated_on=date(2025, 6, 1), due_on=date(2036, 6, 1))


def listed(order: RepairOrder, layout: Layout = CHAIN, now: datetime = NOW) -> SupplyList:
    return service.record_list(order, layout, by=BY, now=now)


def given(supply: SupplyList, *typed: str, before: bool = True, after: bool = True, stick: Stick | None = STICK,
          really: bool = False, instrument: Instrument | None = None) -> Round:
    """A round with these readings in the list's order; 0.6 V, or -0.6 V for the bias supply, where none is given."""
    usual = ["-0.6" if one.supply == "bias" else "0.6" for one in supply.capacitors]
    readings = [*typed, *usual[len(typed):]]
    return Round({one.id: text for one, text in zip(supply.capacitors, readings, strict=True)}, instrument or meter(),
                 "9 V battery", before, after, stick, really)


def discharged(order: RepairOrder, *typed: str, layout: Layout = CHAIN, now: datetime = NOW) -> DischargeRecord:
    """Every capacitor of the order's list read, all below the limit unless told otherwise."""
    supply = queries.list_of(order.id) or listed(order, layout, now)
    made = service.record_round(order, given(supply, *typed), by=BY, now=now)
    session().flush()
    return made
