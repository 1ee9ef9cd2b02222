"""What people type about instruments, points and readings."""

from __future__ import annotations

from typing import Any

from wtforms import BooleanField, DateField, Field, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, QuantityField, as_typed, in_si, options
from app.measuring.models import Instrument, Point
from app.measuring.rules import Kind, Phase, Quantity, State, Statement
from app.measuring.service.instruments import InstrumentFacts
from app.measuring.service.points import PointFacts

UNITS = options((one.value, f"{one.word} ({one.value})") for one in Quantity)


class InstrumentForm(House):
    """An instrument, as it is labelled and calibrated."""

    name = StringField("Name on it", [Needed("Enter a short name, such as M2."), Length(max=20)])
    kind = SelectField("What it is", coerce=Kind, choices=options((one.value, one.value) for one in Kind))
    make = StringField("Maker and model", [Optional(), Length(max=120)])
    serial = StringField("Serial number", [Optional(), Length(max=60)])
    category = StringField("Safety category", [Optional(), Length(max=60)])
    calibrated_on = DateField("Calibrated on", [Optional()])
    due_on = DateField("Calibration due", [Optional()])
    certificate = StringField("Certificate number", [Optional(), Length(max=80)])
    state = SelectField("Status", coerce=State, choices=options((one.value, one.value) for one in State))
    note = TextAreaField("Note", [Optional(), Length(max=600)])

    def facts(self) -> InstrumentFacts:
        """What was entered."""
        text = {name: self[name].data or "" for name in ("make", "serial", "category", "certificate", "note")}
        return InstrumentFacts(name=self.name.data or "", kind=self.kind.data, state=self.state.data,
                               calibrated_on=self.calibrated_on.data, due_on=self.due_on.data, **text)


class AccuracyForm(House):
    """One accuracy statement: per cent of reading and counts, up to a range's end."""

    quantity = SelectField("For", coerce=Quantity, choices=UNITS)
    up_to = StringField("Range up to", [Needed("Enter the end of the range, such as 600."), Length(max=20)])
    percent = QuantityField("Per cent of reading", [Needed("Enter per cent, 0 if it states counts only."),
                                                    NumberRange(0, 100, "Enter per cent from 0 to 100.")], unit="")
    counts = QuantityField("Counts", [Optional(), NumberRange(0, 10000, "Enter counts from 0 to 10000.")], unit="")
    resolution = StringField("One count is", [Optional(), Length(max=20)])

    def validate_up_to(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def validate_resolution(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def statement(self) -> Statement:
        """What was entered, in SI units."""
        return Statement(self.quantity.data, in_si(self.up_to, self.quantity.data) or 0.0,
                         self.percent.data or 0.0, self.counts.data or 0.0,
                         in_si(self.resolution, self.quantity.data) or 0.0)


class ErrorForm(House):
    """What a calibration found wrong with an instrument, asked of the readings taken since it was last right."""

    quantity = SelectField("Wrong on", coerce=Quantity, choices=UNITS)
    percent = QuantityField("Error found", [Needed("Enter per cent of the reading, such as 2."),
                                         NumberRange(0.001, 100, "Enter per cent from 0.001 to 100.")], unit="")
    since = DateField("Last known right on", [Needed("Enter the day on which it was last known right.")])


class PointForm(House):
    """A point and what it should read, in bench notation."""

    name = StringField("Point", [Needed("Name the point, such as V5 grid, pin 5."), Length(max=80)])
    quantity = SelectField("Read in", coerce=Quantity, choices=UNITS)
    expected = StringField("Expected", [Optional(), Length(max=20)])
    lower = StringField("At least", [Optional(), Length(max=20)])
    upper = StringField("At most", [Optional(), Length(max=20)])
    basis = StringField("Limits come from", [Optional(), Length(max=160)])

    def validate_expected(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def validate_lower(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def validate_upper(self, field: Field) -> None:
        in_si(field, self.quantity.data)

    def facts(self) -> PointFacts:
        """What was entered, in SI units."""
        unit = self.quantity.data
        return PointFacts(self.name.data, unit, in_si(self.expected, unit), in_si(self.lower, unit),
                          in_si(self.upper, unit), self.basis.data or "")

    @staticmethod
    def stored(point: Point) -> dict[str, Any]:
        """The fields of a point that stands."""
        return {"name": point.name, "quantity": point.quantity, "expected": as_typed(point.expected),
                "lower": as_typed(point.lower), "upper": as_typed(point.upper), "basis": point.basis}


class ReadingForm(House):
    """One reading at a point."""

    typed = StringField("Reading", [Needed("Enter what the instrument shows."), Length(max=30)])
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
