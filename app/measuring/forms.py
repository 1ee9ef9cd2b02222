"""What people type about instruments, points and readings."""

from __future__ import annotations

import math
from typing import Any

from wtforms import BooleanField, DateField, Field, FileField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, NotationField, QuantityField, in_si, options
from app.kernel.spec_forms import asks, read_facts, shown
from app.measuring.models import Instrument, Point
from app.measuring.rules import Phase, Quantity, State, Statement
from app.measuring.service.calibrations import Certified
from app.measuring.spec import UNITS, InstrumentFacts, PointFacts
from app.measuring.tolerance import MOST_PERCENT, Calibrated, ErrorFound, Settled

UNIT_CHOICES = options((quantity.value, words) for quantity, words in UNITS.items())


@asks(InstrumentFacts)
class InstrumentForm(House):
    """An instrument, as it is labelled and calibrated."""

    def facts(self) -> InstrumentFacts:
        """What was entered."""
        return read_facts(self, InstrumentFacts)


class AccuracyForm(House):
    """One accuracy statement: per cent of reading and counts, up to a range's end."""

    quantity = SelectField("For", coerce=Quantity, choices=UNIT_CHOICES)
    up_to = NotationField("Range up to", [Needed("Enter the end of the range, such as 600."), Length(max=20)])
    percent = QuantityField("Per cent of reading", [Needed("Enter per cent, 0 if it states counts only."),
                                                    NumberRange(0, 100, "Enter per cent from 0 to 100.")], unit="")
    counts = QuantityField("Counts", [Optional(), NumberRange(0, 10000, "Enter counts from 0 to 10000.")], unit="")
    resolution = NotationField("One count is", [Optional(), Length(max=20)])

    def validate_up_to(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def validate_resolution(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def statement(self) -> Statement:
        """What was entered, in SI units."""
        return Statement(self.quantity.data, in_si(self.up_to, self.quantity.data) or 0.0,
                         self.percent.data or 0.0, self.counts.data or 0.0,
                         in_si(self.resolution, self.quantity.data) or 0.0)


FAR = f"Enter per cent from 0 to {MOST_PERCENT:g}."


class _ErrorFields(House):
    """How far an instrument was out on one range."""

    quantity = SelectField("Wrong on", coerce=Quantity, choices=UNIT_CHOICES)
    above = NotationField("Readings from", [Optional(), Length(max=20)])
    up_to = NotationField("Readings up to", [Optional(), Length(max=20)])
    percent = QuantityField("Error found", [Optional(), NumberRange(0, MOST_PERCENT, FAR)], unit="")
    fixed = NotationField("Fixed error", [Optional(), Length(max=20)])

    def validate_above(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def validate_up_to(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def validate_fixed(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    @property
    def error(self) -> ErrorFound:
        """What was entered, in SI units; a range without an upper end has none."""
        quantity = self.quantity.data
        up_to = in_si(self.up_to, quantity)
        return ErrorFound(quantity, in_si(self.above, quantity) or 0.0, math.inf if up_to is None else up_to,
                          self.percent.data or 0.0, in_si(self.fixed, quantity) or 0.0)


class ErrorForm(_ErrorFields):
    """What an error would do to the readings taken since an instrument was last right: asked, and nothing is recorded."""

    percent = QuantityField("Error found", [Needed("Enter per cent of the reading, such as 2."),
                                         NumberRange(0.001, MOST_PERCENT, f"Enter per cent from 0.001 to {MOST_PERCENT:g}.")],
                            unit="")
    since = DateField("Last known right on", [Needed("Enter the day on which it was last known right.")])


class RangeForm(_ErrorFields):
    """One more range on which a calibration found it wrong."""

    up_to = NotationField("Readings up to", [Needed("Enter the end of the range, such as 600."), Length(max=20)])


class CalibrationForm(_ErrorFields):
    """A calibration as its certificate says it; the range found wrong only where it was out of tolerance."""

    done_on = DateField("Calibrated on", [Needed("Enter the day on the certificate.")])
    laboratory = StringField("Calibrated by", [Needed("Enter who calibrated it."), Length(max=120)])
    certificate = StringField("Certificate number", [Optional(), Length(max=80)])
    due_on = DateField("Next calibration due", [Optional()])
    file = FileField("Certificate as a file")
    found = RadioField("Before adjustment it was", coerce=Calibrated, choices=options((one.value, one.value) for one in Calibrated),
                       validators=[Needed("Choose what the calibration found before anything was adjusted.")])
    state = SelectField("Status from now on", coerce=State, choices=options((one.value, one.value) for one in State))
    good_on = DateField("Last known good on", [Optional()])
    note = TextAreaField("Note", [Optional(), Length(max=600)])

    def certified(self) -> Certified:
        """What was entered."""
        error = self.error if self.percent.data or self.fixed.data or self.up_to.data else None
        return Certified(self.done_on.data, self.laboratory.data or "", self.found.data, self.state.data, self.due_on.data,
                         self.certificate.data or "", self.good_on.data if self.found.data is Calibrated.OUTSIDE else None,
                         error, self.note.data or "")


class DoubtForm(House):
    """What settles a reading in doubt."""

    how = RadioField("It is settled because it was", coerce=Settled, choices=options((one.value, one.value) for one in Settled),
                     validators=[Needed("Choose what settles it.")])
    words = TextAreaField("In words", [Optional(), Length(max=600)])


@asks(PointFacts)
class PointForm(House):
    """A point and what it should read, in bench notation."""

    def facts(self) -> PointFacts:
        """What was entered, in SI units."""
        return read_facts(self, PointFacts)

    @staticmethod
    def stored(point: Point) -> dict[str, Any]:
        """The fields of a point that stands."""
        return shown(point, PointFacts)


class ReadingForm(House):
    """One reading at a point."""

    typed = NotationField("Reading", [Needed("Enter what the instrument shows."), Length(max=30)])
    instrument = SelectField("Instrument", coerce=int)
    phase = SelectField("When", coerce=Phase, choices=options((one.value, one.value) for one in Phase))
    condition = StringField("Conditions", [Optional(), Length(max=160)])
    mains_v = QuantityField("Mains voltage at the amp", [Optional(), NumberRange(0, 300, "Enter volts from 0 to 300.")], unit="V")
    powered = RadioField("The amp is", choices=options([("on", "on power"), ("off", "unplugged and discharged")]),
                         validators=[Optional()])
    zero_is_real = BooleanField("It truly shows 0: leads apart first, null checked")

    def offer(self, instruments: list[Instrument], standing: dict[int, str]) -> None:
        """The instruments to choose from, each with how it stands."""
        self.instrument.choices = options((one.id, f"{one.name}: {one.kind.value}, {standing[one.id]}")
                                          for one in instruments)


class CorrectionForm(ReadingForm):
    """A reading in place of a wrong one."""

    reason = StringField("What was wrong", [Needed("Enter what was wrong with the first reading."), Length(max=200)])


class ExplanationForm(House):
    """Why a reading that is no pass may stand."""

    explanation = TextAreaField("Why it is acceptable", [Needed("Enter why it is acceptable."), Length(max=600)])


class WithdrawForm(House):
    """Why a point is not read."""

    reason = StringField("Why it is left out", [Needed("Enter why it is left out."), Length(max=200)])
