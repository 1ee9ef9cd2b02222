"""Taking, correcting and explaining readings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.electrics import ElectricsError
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring import queries
from app.measuring.models import Instrument, Point, Reading
from app.measuring.rules import (
    Inputs,
    Judged,
    Phase,
    Quantity,
    Standing,
    State,
    expanded,
    judged,
    say,
    statement_for,
)
from app.measuring.typed import Typed, read_typed
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.shop.queries import day, the_shop


@dataclass(frozen=True)
class Taken:
    """A reading as somebody enters it. Limits in the quantity's unit; `mains_v` is the mains at the amp, volts."""

    point: str
    quantity: Quantity
    typed: str
    instrument: Instrument
    phase: Phase = Phase.AS_LEFT
    condition: str = ""
    mains_v: float | None = None
    expected: float | None = None
    lower: float | None = None
    upper: float | None = None
    basis: str = ""
    point_id: int | None = None
    zero_is_real: bool = False
    powered: bool | None = None  # None: as this quantity is usually read

    @classmethod
    def at(cls, point: Point, typed: str, instrument: Instrument, phase: Phase = Phase.AS_LEFT, condition: str = "",
           mains_v: float | None = None, *, zero_is_real: bool = False, powered: bool | None = None) -> Taken:
        """At a point of the order, judged by that point's limits of now."""
        return cls(point.name, point.quantity, typed, instrument, phase, condition, mains_v, point.expected,
                   point.lower, point.upper, point.basis, point.id, zero_is_real, powered)


def take(order: RepairOrder, taken: Taken, *, by: Actor, now: datetime, proves: bool = False) -> Reading:
    """Keep a reading with its computed verdict.

    `proves`: it is to prove something about safety, so the instrument must be in date and state its accuracy.
    A quarantined instrument is refused for any reading. BadInput names the field.
    """
    must_be_open(order)
    _put_on_power(order, taken, by=by, now=now)
    reading = _made(order, taken, by=by, now=now, proves=proves)
    session().add(reading)
    record(Event.READING_TAKEN, reading, by=by, now=now, after=_said(reading))
    return reading


def correct(wrong: Reading, taken: Taken, *, reason: str, by: Actor, now: datetime, proves: bool = False) -> Reading:
    """A later reading that stands in place of a wrong one, which stays readable."""
    order = session().get_one(RepairOrder, wrong.order_id)
    must_be_open(order)
    if not reason.strip():
        raise BadInput("Enter what was wrong with it.", "reason")
    if wrong.corrected_by is not None:
        raise RuleBroken(f"This reading was corrected already, to {wrong.corrected_by.words}.")
    _put_on_power(order, taken, by=by, now=now)
    reading = _made(order, taken, by=by, now=now, proves=proves)
    reading.corrects, reading.correction_reason = wrong, reason.strip()
    session().add(reading)
    record(Event.READING_CORRECTED, reading, by=by, now=now, before=_said(wrong), after=_said(reading), reason=reason.strip())
    return reading


def explain(reading: Reading, *, words: str, by: Actor, now: datetime) -> None:
    """Why a reading that has not passed may stand. The verdict stays what it is."""
    must_be_open(session().get_one(RepairOrder, reading.order_id))
    if reading.passed:
        raise RuleBroken("It passed: there is nothing to explain.")
    if reading.point_id is None:
        raise RuleBroken("A failed safety reading cannot be accepted. Repair and retest.")
    if reading.corrected_by is not None:
        raise RuleBroken("It was corrected. Explain the later reading.")
    if not words.strip():
        raise BadInput("Enter why it is acceptable.", "explanation")
    before = {"explanation": reading.explanation or None}
    reading.explanation, reading.explained_at, reading.explained_by = words.strip(), now, by.name
    record(Event.READING_EXPLAINED, reading, by=by, now=now, before=before,
           after={"point": reading.point, "explanation": words.strip()})


def _put_on_power(order: RepairOrder, taken: Taken, *, by: Actor, now: datetime) -> None:
    """A reading that needs a powered amp puts it on power: what was measured after a discharge holds no more."""
    on = taken.quantity.needs_power if taken.powered is None else taken.powered
    if not on and taken.quantity in (Quantity.VOLT_DC, Quantity.VOLT_AC) and abs(_read(taken).value) >= the_shop().safe_volts:
        raise BadInput(f"{taken.typed.strip()} V is no discharged amp. Choose “on power”; if it is unplugged, enter what its "
                       "capacitors still hold on the discharge record.", "powered")
    if on:
        power.power_up(order, f"reading “{taken.point}”", by=by, now=now)


def _made(order: RepairOrder, taken: Taken, *, by: Actor, now: datetime, proves: bool) -> Reading:
    typed, meter = _read(taken), taken.instrument
    stands = meter.standing(queries.today(now))
    stated = statement_for(typed.value, taken.quantity, (accuracy.statement for accuracy in meter.stated))
    _usable(taken, stands, stated is not None, proves)
    uncertainty = expanded(typed.value, stated) if stated and stands is not Standing.INDICATION else None
    found = _judge(typed, taken, uncertainty)
    return Reading(
        order_id=order.id, point_id=taken.point_id, point=taken.point, phase=taken.phase,
        condition=taken.condition.strip(), mains_v=taken.mains_v, typed=taken.typed.strip(), value=typed.value,
        relation=typed.relation, quantity=taken.quantity, unit=taken.quantity.unit, expected=taken.expected,
        lower=taken.lower, upper=taken.upper, basis=taken.basis, instrument=meter, instrument_words=_named(meter),
        accuracy_words=stated.words if stated else "", due_on=meter.due_on, standing=stands, uncertainty=uncertainty,
        verdict=found.verdict, false_accept=found.false_accept, why=found.why, at=now, by_name=by.name)


def _judge(typed: Typed, taken: Taken, uncertainty: float | None) -> Judged:
    return judged(Inputs(typed.value, typed.relation, taken.lower, taken.upper, uncertainty))


def _read(taken: Taken) -> Typed:
    if not taken.typed.strip():
        raise BadInput("Enter what the instrument shows.", "typed")
    try:
        return read_typed(taken.typed, taken.quantity, range_end=_range_end(taken), zero_is_real=taken.zero_is_real)
    except ElectricsError as wrong:
        raise BadInput(str(wrong), "typed") from wrong


def _range_end(taken: Taken) -> float | None:
    """The end of the highest range of which the meter states its accuracy; None if it states none."""
    stated = (accuracy.statement for accuracy in taken.instrument.stated)
    return max((one.up_to for one in stated if one.quantity is taken.quantity), default=None)


def _usable(taken: Taken, stands: Standing, has_statement: bool, proves: bool) -> None:
    meter = taken.instrument
    if meter.state is State.QUARANTINED:
        raise BadInput(f"{meter.name} is quarantined: no reading counts. Take another instrument.", "instrument")
    if not meter.kind.measures:
        raise BadInput(f"{meter.name} is a {meter.kind.value}: it measures nothing. Choose the instrument that showed the reading.",
                       "instrument")
    if proves and not stands.counts:
        raise BadInput(f"{meter.name} is {_told(stands, meter)}: it cannot prove safety. "
                       "Take an instrument in date.", "instrument")
    if proves and not has_statement:
        raise BadInput(f"{meter.name} states no accuracy in {taken.quantity.word} for {taken.typed.strip()}. "
                       "Take another, or enter its statement on the instruments page.", "instrument")


def _told(stands: Standing, meter: Instrument) -> str:
    if stands is Standing.NEVER:
        return "without calibration on record"
    return f"overdue since {day(meter.due_on)}" if stands is Standing.OVERDUE and meter.due_on else stands.value


def _named(meter: Instrument) -> str:
    return f"{meter.name}, {meter.kind.value}" + (f", serial {meter.serial}" if meter.serial else "")


def _said(reading: Reading) -> dict[str, str]:
    return {"point": reading.point, "read": reading.words, "phase": reading.phase.value, "band": reading.band,
            "uncertainty": reading.uncertainty_words, "verdict": reading.verdict.word,
            "instrument": reading.instrument_words, "condition": reading.condition,
            "mains": say(reading.mains_v, "V")}
