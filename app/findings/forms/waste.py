"""The forms of the waste log."""

from __future__ import annotations

from wtforms import BooleanField, RadioField, StringField
from wtforms.validators import Length, NumberRange, Optional

from app.findings.rules.waste import Material
from app.kernel.form_fields import House, Needed, options
from app.kernel.numbers import FloatField


class WasteForm(House):
    """What came out, how much, where it is kept."""

    material = RadioField("What it is", [Needed("Choose what it is.")], coerce=Material,
                          choices=options((one.value, one.value) for one in Material))
    presumed = BooleanField("Presumed, not confirmed")
    quantity = FloatField("How much", [Needed("Enter how much."), NumberRange(0.001, 1e6, "Enter how much.")])
    unit = StringField("Unit", [Needed("Enter in which unit: pieces, g, ml."), Length(max=20)])
    container = StringField("Container", [Needed("Enter in which container it is kept."), Length(max=80)])
    note = StringField("Marking, maker or date on it", [Optional(), Length(max=200)])


class HandOverForm(House):
    """Where it went."""

    to = StringField("Handed to", [Needed("Enter to whom it was handed."), Length(max=120)])
    paper = StringField("Paper or number", [Optional(), Length(max=120)])
