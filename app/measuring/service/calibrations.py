"""Recording calibrations, and settling the readings that one put in doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from app.db import session
from app.drawings.prepare import PreparedDrawing
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring import doubts
from app.measuring.calibration import Calibration, CalibrationError, DoubtedReading
from app.measuring.models import Instrument
from app.measuring.queries import today
from app.measuring.rules import State
from app.measuring.tolerance import MOST_PERCENT, Calibrated, ErrorFound, Settled
from app.shop.queries import day


@dataclass(frozen=True)
class Certified:
    """A calibration as somebody enters it from its certificate; `good_on` and an error only of one out of tolerance."""

    done_on: date
    laboratory: str
    found: Calibrated
    state: State = State.IN_SERVICE
    due_on: date | None = None
    certificate: str = ""
    good_on: date | None = None
    error: ErrorFound | None = None
    note: str = ""


def record_calibration(instrument: Instrument, facts: Certified, file: PreparedDrawing | None = None, *, by: Actor,
                       now: datetime) -> Calibration:
    """Keep a calibration; the instrument takes its day, its next one and its certificate from the newest.

    One that was out of tolerance puts in doubt every reading since it was last known good whose verdict could flip.
    BadInput names the field.
    """
    _check(facts, today(now))
    _check_good(instrument, facts)
    made = Calibration(instrument=instrument, done_on=facts.done_on, laboratory=facts.laboratory.strip(),
                       certificate=facts.certificate.strip(), found=facts.found, good_on=facts.good_on, due_on=facts.due_on,
                       state=facts.state, note=facts.note.strip(), sha256=file.sha256 if file else None,
                       media_type=file.media_type if file else None, at=now, by_name=by.name)
    session().add(made)
    record(Event.CALIBRATION_RECORDED, made, by=by, now=now, after=_said(made))
    if instrument.calibrated_on is None or facts.done_on >= instrument.calibrated_on:
        before = _standing(instrument)
        instrument.calibrated_on, instrument.due_on = facts.done_on, facts.due_on
        instrument.certificate, instrument.state = made.certificate, facts.state
        record(Event.INSTRUMENT_CHANGED, instrument, by=by, now=now, before=before, after=_standing(instrument))
    if facts.error is not None:
        add_error(made, facts.error, by=by, now=now)
    return made


def add_error(calibration: Calibration, error: ErrorFound, *, by: Actor, now: datetime) -> list[DoubtedReading]:
    """What it found wrong on one more range: the readings since the last good day are judged again; those newly in doubt.

    A reading that was settled is opened again if this range makes it worse.
    """
    if calibration.found is not Calibrated.OUTSIDE or calibration.good_on is None:
        raise RuleBroken("This calibration was within tolerance. Record one that was out of tolerance.")
    _check_error(error)
    calibration.errors.append(CalibrationError(quantity=error.quantity, above=error.above, up_to=error.up_to,
                                               percent=error.percent, fixed=error.fixed, at=now, by_name=by.name))
    known = {one.reading_id: one for one in calibration.doubts}
    opened = []
    every = [row.error for row in calibration.errors]
    for one in doubts.doubted(calibration.instrument, every, calibration.good_on, calibration.done_on):
        doubt = known.get(one.reading.id)
        if doubt is None:
            doubt = DoubtedReading(order_id=one.reading.order_id, reading=one.reading, worst=one.worst)
            calibration.doubts.append(doubt)
            opened.append(doubt)
        elif doubt.worst is not one.worst:
            doubt.worst = one.worst
            if doubt.settled is Settled.HARMLESS:
                doubt.settled, doubt.settled_at, doubt.settled_words, doubt.settled_by = None, None, "", ""
            opened.append(doubt)
    record(Event.CALIBRATION_ERROR_ADDED, calibration, by=by, now=now, after={
        "found wrong": error.words, "put in doubt": [f"{one.reading.point}: {one.reading.words}" for one in opened]})
    for doubt in opened:
        record(Event.READING_DOUBTED, doubt, by=by, now=now, after={
            "point": doubt.reading.point, "read": doubt.reading.words, "stood as": doubt.reading.verdict.word,
            "at worst": doubt.worst.word, "instrument": calibration.instrument.name})
    return opened


def settle_doubt(doubt: DoubtedReading, how: Settled, *, words: str = "", by: Actor, now: datetime) -> None:
    """Say what came of a reading in doubt. Measured again needs the later reading; the other two need words.

    A safety reading of an amp that is still here can only be measured again: nobody is called, and nothing shows it harmless.
    """
    if doubt.settled is not None:
        raise RuleBroken(f"It is settled already: {doubt.settled.value}.")
    again = doubts.measured_again(doubt) if how is Settled.MEASURED else None
    if how is Settled.MEASURED and again is None:
        raise BadInput(f"There is no later reading of {doubt.reading.point} on this amp by an instrument in date. Take it first.",
                       "how")
    if again is not None and not again.passed:
        raise BadInput(f"The last reading of {doubt.reading.point} since did not pass: {again.words}, {again.verdict.word}. "
                       "Find out why, and measure again.", "how")
    if how is not Settled.MEASURED and doubt.is_safety and doubts.is_here(doubt):
        raise BadInput("This is a safety reading of an amp that is still here. Measure it again.", "how")
    if how is not Settled.MEASURED and not words.strip():
        raise BadInput("Enter whom you reached, when, and what was agreed." if how is Settled.CALLED
                       else "Enter what shows that it is harmless.", "words")
    doubt.settled, doubt.settled_words, doubt.settled_at, doubt.settled_by = how, words.strip(), now, by.name
    doubt.again = again
    record(Event.DOUBT_SETTLED, doubt, by=by, now=now, before={"settled": None}, after={
        "point": doubt.reading.point, "read": doubt.reading.words, "settled": how.value,
        "read again": again.words if again else None}, reason=words.strip())


def _check(facts: Certified, day_now: date) -> None:
    if not facts.laboratory.strip():
        raise BadInput("Enter who calibrated it.", "laboratory")
    if facts.done_on > day_now:
        raise BadInput("The calibration lies in the future. Enter the day on the certificate.", "done_on")
    if facts.due_on and facts.due_on < facts.done_on:
        raise BadInput("The next calibration lies before this one.", "due_on")
    if facts.found is Calibrated.WITHIN:
        if facts.error is not None:
            raise BadInput("An error is entered, but “within tolerance” is chosen. Choose one.", "found")
        return
    if facts.good_on is None:
        raise BadInput("Enter the day on which it was last known good: its calibration before this one.", "good_on")
    if facts.good_on > facts.done_on:
        raise BadInput("It was last known good before this calibration. Check both days.", "good_on")
    if facts.error is None:
        raise BadInput("Enter how far it was out: per cent of reading, a fixed error, or both.", "percent")
    _check_error(facts.error)


def _check_good(instrument: Instrument, facts: Certified) -> None:
    """Known good later than its calibration before takes words: the nearer the day, the fewer readings come into doubt."""
    if facts.good_on is None or facts.note.strip():
        return
    days = [one.done_on for one in doubts.calibrations_of(instrument) if one.found is Calibrated.WITHIN]
    days += [instrument.calibrated_on] if instrument.calibrated_on else []
    last = max((one for one in days if one < facts.done_on), default=None)
    if last is not None and facts.good_on > last:
        raise BadInput(f"It was last calibrated on {day(last)}. Enter that day, or name in the note what showed it good later.",
                       "good_on")


def _check_error(error: ErrorFound) -> None:
    if not all(math.isfinite(one) for one in (error.above, error.percent, error.fixed)):
        raise BadInput("Enter how far it was out in numbers: per cent of reading, a fixed error, or both.", "percent")
    if not 0 <= error.above < error.up_to or not math.isfinite(error.up_to):
        raise BadInput("Enter the range from its lower to its upper end, such as 0 to 600.", "up_to")
    if error.percent < 0 or error.fixed < 0 or error.percent + error.fixed <= 0:
        raise BadInput("Enter how far it was out: per cent of reading, a fixed error, or both.", "percent")
    if error.percent > MOST_PERCENT:
        raise BadInput(f"Enter at most {MOST_PERCENT:g} per cent. An instrument further out has measured nothing: quarantine it.",
                       "percent")


def _standing(instrument: Instrument) -> dict[str, str | None]:
    return {"calibrated on": day(instrument.calibrated_on) if instrument.calibrated_on else None,
            "calibration due": day(instrument.due_on) if instrument.due_on else None,
            "certificate number": instrument.certificate or None, "status": instrument.state.value}


def _said(made: Calibration) -> dict[str, str | Sequence[str] | None]:
    return {"instrument": made.instrument.name, "calibrated on": day(made.done_on), "by": made.laboratory,
            "found": made.found.value, "last known good on": day(made.good_on) if made.good_on else None,
            "due": day(made.due_on) if made.due_on else None,
            "certificate": made.certificate or None, "status": made.state.value, "note": made.note or None, "SHA-256": made.sha256}
