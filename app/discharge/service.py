"""Listing what holds a charge, and recording a round of readings after a discharge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.discharge import queries
from app.discharge.models import DischargeReading, DischargeRecord, SupplyCapacitor, SupplyList
from app.discharge.rules.chain import plan
from app.discharge.rules.listing import Layout, Origin, Supply, read_layout
from app.discharge.rules.readings import measures, read_volts
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kept import queries as kept
from app.kept.rules import Purpose
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.measuring.rules import Quantity, expanded, say, statement_for
from app.orders import chassis, power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Stick:
    """The resistor it was discharged with: ohms, rated watts, and how long it was held (seconds)."""

    ohm: float
    watt: float
    held_s: float | None = None


@dataclass(frozen=True)
class Round:
    """Readings by capacitor as typed, blank where it was not read; the meter, and what it was proved on before and after."""

    typed: Mapping[int, str]
    instrument: Instrument
    proved_on: str
    proved_before: bool
    proved_after: bool
    stick: Stick | None = None
    really: bool = False  # a zero, or a sign against the supply's, was looked at twice


class WrongReadings(BadInput):
    """Readings that cannot be kept as typed: why, by capacitor."""

    def __init__(self, each: Mapping[int, str]) -> None:
        self.each = dict(each)
        super().__init__(next(iter(self.each.values())), None)


def record_list(order: RepairOrder, layout: Layout, *, by: Actor, now: datetime) -> SupplyList:
    """Keep every capacitor of the supplies in place of an earlier list, which stays readable. BadInput names the field."""
    must_be_open(order)
    capacitors = read_layout(layout)
    before, offer = queries.list_of(order.id), next((one for one in queries.offers(order) if one.layout == layout), None)
    made = SupplyList(order_id=order.id, origin=offer.origin if offer else Origin.TYPED, origin_words=offer.words if offer else "",
                      at=now, by_name=by.name)
    made.capacitors = [SupplyCapacitor(position=position, supply=one.supply, name=one.name, node=one.node, farad=one.farad,
                                       working_v=one.working_v, fed_ohm=one.fed_ohm)
                       for position, one in enumerate(capacitors, start=1)]
    session().add(made)
    record(Event.SUPPLY_LISTED, made, by=by, now=now, before={"capacitors": _said(before)} if before else {},
           after={"capacitors": _said(made), "bias supply": "listed" if made.has_bias else "none", "taken from": made.origin.value})
    session().flush()
    return made


def record_round(order: RepairOrder, given: Round, *, by: Actor, now: datetime) -> DischargeRecord:
    """Keep what the meter showed across the capacitors of the newest list, complete or not.

    Refused on power; with an instrument that cannot be put across them, is not in date or states no accuracy; with a
    stick that the supply would burn. WrongReadings says per capacitor what cannot be.
    """
    must_be_open(order)
    power.must_be_off(order)
    listed = queries.list_of(order.id)
    if listed is None:
        raise RuleBroken("List the capacitors of the supply first.")
    limit, meter = the_shop().safe_volts, given.instrument
    _usable(listed, meter, now)
    if given.stick is not None:
        _bears(listed, given.stick, limit)
    if not given.proved_on.strip():
        raise BadInput("Enter the known voltage that the meter was proved on.", "proved_on")
    readings = _readings(listed, given)
    if not readings:
        raise BadInput("Enter what the meter showed across at least one capacitor.")
    made = DischargeRecord(
        order_id=order.id, supply_list=listed, limit_volts=limit, stick_ohm=given.stick.ohm if given.stick else None,
        stick_w=given.stick.watt if given.stick else None, held_s=given.stick.held_s if given.stick else None, instrument=meter,
        instrument_words=f"{meter.name}, {meter.kind.value}" + (f", serial {meter.serial}" if meter.serial else ""),
        due_on=meter.due_on, standing=meter.standing(measuring.today(now)), proved_on=" ".join(given.proved_on.split()),
        proved_before=given.proved_before, proved_after=given.proved_after, at=now, by_name=by.name,
        last_power_id=power.last_power_up(order.id), readings=readings, **_calculated(order))
    session().add(made)
    chassis.opened(order.id, "the supply was discharged", by=by, now=now)
    session().flush()
    names = {one.capacitor.name: one for one in made.readings}
    found = queries.verdicts(made, names)
    record(Event.DISCHARGE_RECORDED, made, by=by, now=now, after={
        "read": [f"{name}: {one.words}, {found[name].word}" for name, one in names.items()], "limit": say(limit, "V"),
        "instrument": made.instrument_words, "proved on": made.proved_on, "proved before": given.proved_before,
        "proved after": given.proved_after, "discharged with": made.stick_words,
        "calculated": [told for told, _ in made.calculated] or None})
    return made


def _calculated(order: RepairOrder) -> dict[str, float | int]:
    """Stored energy and time to discharge as the order takes them from calculations that still stand."""
    found: dict[str, float | int] = {}
    for purpose, column, key in ((Purpose.ENERGY, "stored_j", "stored_sum_id"), (Purpose.TIME, "needs_s", "needs_sum_id")):
        use = kept.of_discharge(order.id).get(purpose)
        if use is not None and use.kept.stands:
            found |= {column: use.value, key: use.sum_id}
    return found


def _usable(listed: SupplyList, meter: Instrument, now: datetime) -> None:
    highest, stands = max(one.working_v for one in listed.capacitors), meter.standing(measuring.today(now))
    if not measures(meter.kind, (one.statement for one in meter.stated), highest):
        raise BadInput(f"{meter.name} is not stated for volts DC up to {say(highest, 'V')}: it must not go across this supply, "
                       "and proves nothing about it. Take another.", "instrument")
    if not stands.counts:
        raise BadInput(f"{meter.name} is {stands.value}: it shows nothing discharged. Take an instrument in date.", "instrument")


def _bears(listed: SupplyList, stick: Stick, limit: float) -> None:
    """The stick's current and watts at the highest volts that each supply may hold."""
    for supply in Supply:
        found = plan(listed.plain, supply, stick_ohm=stick.ohm, stick_w=stick.watt, limit_v=limit, held_s=stick.held_s)
        if found is not None and found.why_refused:
            raise BadInput(found.why_refused, "stick_ohm")


def _readings(listed: SupplyList, given: Round) -> list[DischargeReading]:
    stated = [one.statement for one in given.instrument.stated]
    end = max(one.up_to for one in stated if one.quantity is Quantity.VOLT_DC)
    found, wrong = [], {}
    for capacitor in listed.capacitors:
        text = given.typed.get(capacitor.id, "").strip()
        if not text:
            continue
        try:
            typed = read_volts(text, capacitor.plain, range_end=end, really=given.really)
        except BadInput as refused:
            wrong[capacitor.id] = refused.words
            continue
        accuracy = statement_for(typed.value, Quantity.VOLT_DC, stated)
        if accuracy is None:
            wrong[capacitor.id] = f"{given.instrument.name} states no accuracy for {text}. Look at its range, then read again."
            continue
        found.append(DischargeReading(capacitor=capacitor, typed=text, value=typed.value, relation=typed.relation,
                                      accuracy_words=accuracy.words, uncertainty=expanded(typed.value, accuracy)))
    if wrong:
        raise WrongReadings(wrong)
    return found


def _said(listed: SupplyList) -> list[str]:
    return [one.words for one in listed.capacitors]
