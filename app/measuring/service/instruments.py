"""Keeping the list of instruments."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kernel.spec import columns, journal_facts
from app.measuring.models import Accuracy, Instrument
from app.measuring.rules import Statement, say
from app.measuring.spec import InstrumentFacts
from app.shop.queries import day


def add_instrument(facts: InstrumentFacts, *, by: Actor, now: datetime) -> Instrument:
    """A new instrument, not calibrated unless the facts say so."""
    _check(facts, None)
    instrument = Instrument(added_at=now, **columns(facts))
    session().add(instrument)
    record(Event.INSTRUMENT_ADDED, instrument, by=by, now=now, after=_said(instrument))
    return instrument


def change_instrument(instrument: Instrument, facts: InstrumentFacts, *, by: Actor, now: datetime) -> None:
    """Keep what changed: a new calibration, another state. Readings keep what was true of it then."""
    _check(facts, instrument)
    before = _said(instrument)
    for name, value in columns(facts).items():
        setattr(instrument, name, value)
    record_change(Event.INSTRUMENT_CHANGED, instrument, before, _said(instrument), by=by, now=now)


def state_accuracy(instrument: Instrument, stated: Statement, *, by: Actor, now: datetime) -> Accuracy:
    """What it states for one quantity up to a range's end; a statement for the same range replaces the one before."""
    if stated.up_to <= 0:
        raise BadInput("Enter the end of the range, such as 600.", "up_to")
    if stated.percent < 0 or stated.counts < 0 or (stated.percent == 0 and stated.counts == 0):
        raise BadInput("Enter per cent of reading, counts, or both.", "percent")
    if stated.counts and stated.resolution <= 0:
        raise BadInput("Enter what one count is worth, such as 0.1.", "resolution")
    for earlier in instrument.stated:
        if earlier.quantity is stated.quantity and earlier.up_to == stated.up_to:
            withdraw_accuracy(earlier, by=by, now=now)
    accuracy = Accuracy(instrument=instrument, at=now, by_name=by.name, quantity=stated.quantity, up_to=stated.up_to,
                        percent=stated.percent, counts=stated.counts, resolution=stated.resolution)
    session().add(accuracy)
    record(Event.ACCURACY_STATED, instrument, by=by, now=now, after={_range(stated): stated.words})
    return accuracy


def withdraw_accuracy(accuracy: Accuracy, *, by: Actor, now: datetime) -> None:
    """It no longer holds; readings that used it keep it."""
    if accuracy.withdrawn_at is not None:
        raise RuleBroken("This was withdrawn already.")
    accuracy.withdrawn_at, accuracy.withdrawn_by = now, by.name
    stated = accuracy.statement
    record(Event.ACCURACY_WITHDRAWN, accuracy.instrument, by=by, now=now, before={_range(stated): stated.words},
           after={_range(stated): "withdrawn"})


def _range(stated: Statement) -> str:
    return f"{stated.quantity.value} up to {say(stated.up_to, stated.quantity.unit)}"


def _check(facts: InstrumentFacts, of: Instrument | None) -> None:
    if not facts.name.strip():
        raise BadInput("Enter a short name, such as M2.", "name")
    same = session().scalar(sa.select(Instrument).where(sa.func.lower(Instrument.name) == facts.name.strip().lower()))
    if same is not None and same is not of:
        raise BadInput(f"There is an instrument {same.name} already. Give this one another name.", "name")
    if facts.due_on and facts.calibrated_on is None:
        raise BadInput("Enter the day of calibration too.", "calibrated_on")
    if facts.due_on and facts.calibrated_on and facts.due_on < facts.calibrated_on:
        raise BadInput("The next calibration lies before the last one.", "due_on")


def _said(record: Any) -> dict[str, Any]:
    told = journal_facts(record, InstrumentFacts)
    return {name: day(value) if isinstance(value, date) else value for name, value in told.items()}
