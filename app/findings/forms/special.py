"""The forms of wires that weep and boards that leak."""

from __future__ import annotations

from wtforms import BooleanField, RadioField, StringField
from wtforms.validators import Length, NumberRange, Optional

from app.findings.models.special import Round
from app.findings.service.special import HOTTEST
from app.kernel.form_fields import House, Needed, QuantityField, options
from app.kernel.numbers import FloatField


class WireForm(House):
    """One wire of a group."""

    colour = StringField("Colour", [Needed("Enter its colour."), Length(max=40)])
    run = StringField("Run", [Needed("Enter the run it lies in."), Length(max=80)])
    from_end = StringField("From", [Needed("Enter where it begins."), Length(max=80)])
    to_end = StringField("To", [Needed("Enter where it ends."), Length(max=80)])
    weeps = BooleanField("Insulation is sticky or weeping")


class LeakageForm(House):
    """Stray volts on a bare eyelet."""

    round = RadioField("When", [Needed("Choose whether it was before or after drying.")], coerce=Round,
                       choices=options((one.value, f"{one.value} drying") for one in Round))
    between = StringField("Between", [Needed("Enter between which points."), Length(max=120)])
    source_v = QuantityField("Volts of the source", [Needed("Enter the volts of the source, 100 for instance.")], unit="V")
    meter_v = QuantityField("Meter reading", [Needed("Enter what the meter shows, 0 if nothing.")], unit="V")
    meter_ohm = QuantityField("Meter's own resistance", [Needed("Enter the meter's input resistance, 10M is usual.")],
                              unit="ohm")
    instrument = StringField("Meter", [Needed("Enter which meter."), Length(max=120)])


class BakeForm(House):
    """How long and how warm."""

    hours = FloatField("Hours", [Needed("Enter the hours, 12 for instance."), NumberRange(0.1, 96, "Enter hours from 0.1 to 96.")])
    celsius = FloatField("Temperature", [Needed("Enter the temperature, 80 °C for instance."),
                                     NumberRange(30, HOTTEST, f"Enter 30 to {HOTTEST:g} °C.")])


class EndBakeForm(House):
    """It is out of the warmth."""

    note = StringField("How it came out", [Optional(), Length(max=200)])
