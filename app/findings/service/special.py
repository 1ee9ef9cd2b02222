"""Wires that weep, boards that leak, and drying them."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.findings.models.findings import Finding
from app.findings.models.special import BakeOut, FindingWire, LeakageReading, Round
from app.findings.service.bake_holds import name_its_board
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open_still

USUAL_HOURS, USUAL_CELSIUS = 12.0, 80.0  # overnight; common practice, no source
HOTTEST = 105.0


def list_wire(finding: Finding, *, colour: str, run: str, from_end: str, to_end: str, weeps: bool, by: Actor,
              now: datetime) -> FindingWire:
    """One wire of the group that this finding covers."""
    _must_be_open(finding)
    given = {name: " ".join(text.split()) for name, text in
             (("colour", colour), ("run", run), ("from_end", from_end), ("to_end", to_end))}
    for name, words in (("colour", "Enter its colour."), ("run", "Enter the run it lies in."),
                        ("from_end", "Enter where it begins."), ("to_end", "Enter where it ends.")):
        if not given[name]:
            raise BadInput(words, name)
    wire = FindingWire(finding_id=finding.id, order_id=finding.order_id, weeps=weeps, at=now, by_name=by.name, **given)
    session().add(wire)
    record(Event.WIRE_LISTED, finding, by=by, now=now, after={"wire listed": _say_wire(wire)})
    return wire


def strike_wire(finding: Finding, wire: FindingWire, *, by: Actor, now: datetime) -> None:
    """A wire that was listed by mistake."""
    _must_be_open(finding)
    if wire.struck_at is None:
        wire.struck_at = now
        record(Event.WIRE_STRUCK, finding, by=by, now=now, before={"wire listed": _say_wire(wire)},
               after={"wire listed": "struck"})


def measure_leakage(finding: Finding, *, round: Round, between: str, source_v: float, meter_v: float, meter_ohm: float,
                    instrument: str, by: Actor, now: datetime) -> LeakageReading:
    """Stray volts at a bare eyelet. Volts DC, the source above zero, the meter's own resistance in ohm."""
    _must_be_open(finding)
    if source_v <= 0:
        raise BadInput("Enter the volts of the source, 100 for instance.", "source_v")
    if not 0 <= meter_v <= source_v:
        raise BadInput(f"Enter volts from 0 to {source_v:g}: a board cannot give more than its source.", "meter_v")
    if meter_ohm <= 0:
        raise BadInput("Enter the meter's input resistance, 10M is usual.", "meter_ohm")
    if not between.strip():
        raise BadInput("Enter between which points.", "between")
    if not instrument.strip():
        raise BadInput("Enter which meter.", "instrument")
    reading = LeakageReading(finding_id=finding.id, order_id=finding.order_id, round=round,
                             between=" ".join(between.split()), source_v=source_v, meter_v=meter_v, meter_ohm=meter_ohm,
                             instrument=" ".join(instrument.split()), at=now, by_name=by.name)
    session().add(reading)
    chassis.opened(finding.order_id, "a board's leakage was measured", by=by, now=now)
    record(Event.LEAKAGE_MEASURED, finding, by=by, now=now, after={f"leakage {round.value}": _say_leakage(reading)})
    return reading


def strike_leakage(finding: Finding, reading: LeakageReading, *, reason: str, by: Actor, now: datetime) -> None:
    """A reading that was wrong."""
    _must_be_open(finding)
    if not reason.strip():
        raise BadInput("Enter why the reading is struck out.", "reason")
    if reading.struck_at is None:
        reading.struck_at, reading.struck_reason = now, " ".join(reason.split())
        record(Event.LEAKAGE_STRUCK, finding, by=by, now=now, before={"leakage": _say_leakage(reading)},
               after={"leakage": "struck"}, reason=reading.struck_reason)


def start_bake_out(finding: Finding, *, hours: float = USUAL_HOURS, celsius: float = USUAL_CELSIUS, by: Actor,
                   now: datetime) -> BakeOut:
    """Put the board in warmth. Nobody needs to stand by for its work, somebody must be near for its heat."""
    _must_be_open(finding)
    if not 0 < hours <= 96:
        raise BadInput("Enter hours up to 96; overnight is usual.", "hours")
    if not 30 <= celsius <= HOTTEST:
        raise BadInput(f"Enter 30 to {HOTTEST:g} °C; about 80 is usual. Wax runs at about 60, and above {HOTTEST:g} boards and "
                       "parts suffer.", "celsius")
    bake = BakeOut(finding=finding, order_id=finding.order_id, hours=hours, celsius=celsius, started_at=now, started_by=by.name)
    session().add(bake)
    session().flush()
    name_its_board(bake, session().get_one(RepairOrder, finding.order_id), by=by, now=now)
    chassis.opened(bake.order_id, "a bake-out was started", by=by, now=now)
    record(Event.BAKE_OUT_STARTED, bake, by=by, now=now, after={"hours": hours, "°C": celsius})
    return bake


def end_bake_out(bake: BakeOut, *, note: str = "", by: Actor, now: datetime) -> None:
    """It is out of the warmth."""
    must_be_open_still(bake.order_id)
    if bake.ended_at is not None:
        raise RuleBroken("This bake-out has ended already.")
    bake.ended_at, bake.ended_by, bake.ended_note = now, by.name, " ".join(note.split())
    chassis.opened(bake.order_id, "a bake-out was ended", by=by, now=now)
    record(Event.BAKE_OUT_ENDED, bake, by=by, now=now, after={
        "hours": round((now - bake.started_at).total_seconds() / 3600, 2), "note": bake.ended_note})


def _must_be_open(finding: Finding) -> None:
    must_be_open_still(finding.order_id)
    if finding.status.is_ended:
        raise RuleBroken(f"{finding.title} is {finding.status.value}. Reopen it with a reason first.")


def _say_wire(wire: FindingWire) -> str:
    return f"{wire.colour}, {wire.run}, {wire.from_end} to {wire.to_end}{', weeps' if wire.weeps else ''}"


def _say_leakage(reading: LeakageReading) -> str:
    return (f"{reading.meter_v:g} V of {reading.source_v:g} V between {reading.between}, "
            f"through {reading.meter_ohm:g} ohm, {reading.instrument}")
