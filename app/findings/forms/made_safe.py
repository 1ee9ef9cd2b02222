"""The forms of making safe."""

from __future__ import annotations

from wtforms import StringField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, QuantityField


class MadeSafeForm(House):
    """What the meter showed after discharge."""

    volts = QuantityField("Volts left", [Needed("Enter the volts that the meter shows, 0.4 for instance.")], unit="V")
    across = StringField("Measured across", [Needed("Enter where the meter was."), Length(max=120)])
    instrument = StringField("With which meter", [Needed("Enter which meter measured it."), Length(max=120)])
    how = StringField("Discharged with", [Optional(), Length(max=120)])


class ExpectForm(House):
    """What the supply holds, to know what to expect before it is discharged."""

    farad = QuantityField("All supply capacitors together", [Needed("Enter the capacitance, such as 100u."),
                                                             NumberRange(1e-9, 1, "Enter a capacitance up to 1 F.")], unit="F")
    charged_to = QuantityField("Charged to", [Needed("Enter the volts of the supply, such as 450."),
                                              NumberRange(1, 2000, "Enter volts from 1 to 2000.")], unit="V")
    bleeder = QuantityField("Discharged through", [Needed("Enter the resistor, such as 10k."),
                                                   NumberRange(10, 1e8, "Enter a resistor from 10 ohm.")], unit="ohm")
