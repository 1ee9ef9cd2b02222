"""What people type about the supply's capacitors and about a round of readings."""

from __future__ import annotations

from typing import Any

from wtforms import BooleanField, Field, RadioField, SelectField, StringField
from wtforms.validators import Length, NumberRange, Optional

from app.discharge.models import DischargeRecord, SupplyList
from app.discharge.rules.listing import Layout
from app.discharge.service import Round, Stick
from app.errors import BadInput
from app.kernel.form_fields import House, Needed, QuantityField, blank, options
from app.measuring.models import Instrument

_LONG = Length(max=200)
PROVED = [("yes", "showed the known volts"), ("no", "not proved")]


class ListForm(House):
    """Every capacitor of the supplies, in bench notation."""

    farads = StringField("HT capacitors, from the rectifier on", [Needed("Enter them, such as 47u, 47u, 22u, 22u."), _LONG])
    ohms = StringField("Resistors between them", [Optional(), _LONG])
    volts = StringField("Volts working", [Needed("Enter the volts working, such as 500."), _LONG])
    names = StringField("Their names", [Optional(), _LONG])
    bias_farads = StringField("Bias supply capacitors", [Optional(), _LONG])
    bias_ohms = StringField("Resistors between those", [Optional(), _LONG])
    bias_volts = StringField("Volts working of those", [Optional(), _LONG])
    no_bias = BooleanField("There is no bias supply (cathode bias)")

    def layout(self) -> Layout:
        """What was entered."""
        farads, ohms, volts, names, bias_farads, bias_ohms, bias_volts, no_bias = (field.data or "" for field in self)
        return Layout(farads, ohms, volts, names, bias_farads, bias_ohms, bias_volts, bool(no_bias))


class StickForm(House):
    """The resistor, how long it is held, and from which volts: what to expect before anything is touched."""

    stick_ohm = QuantityField("Stick", [Needed("Enter the stick’s resistance, such as 10k."),
                                        NumberRange(1e-3, 1e9, "Enter a resistance such as 10k.")], unit="ohm")
    stick_w = QuantityField("Rated", [Needed("Enter the stick’s rated watts, such as 10."),
                                      NumberRange(0.01, 1e4, "Enter watts such as 10.")], unit="W")
    held_s = QuantityField("Held for", [Optional(), NumberRange(0, 86400, "Enter seconds, up to a day.")], unit="s")
    from_v = QuantityField("Charged to", [Optional(), NumberRange(1, 5000, "Enter volts from 1 to 5000.")], unit="V")


class RoundForm(House):
    """The stick, the meter and what it was proved on. The readings are added for each capacitor of the list."""

    instrument = SelectField("Meter", coerce=int)
    proved_before = RadioField("Proved before, on a known voltage", choices=options(PROVED), coerce=blank(str),
                               validators=[Needed("Choose whether the meter showed the known volts before.")])
    proved_after = RadioField("Proved after, on the same", choices=options(PROVED), coerce=blank(str),
                              validators=[Needed("Choose whether the meter showed the known volts after.")])
    proved_on = StringField("Known voltage", [Needed("Enter what the meter was proved on, such as a 9 V battery."),
                                              Length(max=120)])
    stick_ohm = QuantityField("Stick", [Optional(), NumberRange(1e-3, 1e9, "Enter a resistance such as 10k.")], unit="ohm")
    stick_w = QuantityField("Rated", [Optional(), NumberRange(0.01, 1e4, "Enter watts such as 10.")], unit="W")
    held_s = QuantityField("Held for", [Optional(), NumberRange(0, 86400, "Enter seconds, up to a day.")], unit="s")
    really = BooleanField("It truly shows that: range and clips looked at, meter proved")

    def validate(self, extra_validators: Any = None) -> bool:
        found = super().validate(extra_validators)
        if found and self.stick_ohm.data and self.stick_w.data is None:
            self.add_error(BadInput("Enter the stick’s rated watts too, or leave both empty: no stick.", "stick_w"))
        return found and not self.stick_w.errors

    def offer(self, instruments: list[Instrument], standing: dict[int, str]) -> None:
        """The meters to choose from, each with how it stands."""
        self.instrument.choices = options((one.id, f"{one.name}: {one.kind.value}, {standing[one.id]}") for one in instruments)

    def readings(self, listed: SupplyList) -> list[tuple[Any, Field]]:
        """Each capacitor with its field."""
        return [(one, self[f"volts_{one.id}"]) for one in listed.capacitors]

    def given(self, listed: SupplyList, instrument: Instrument) -> Round:
        """What was entered."""
        ohm, watt = self.stick_ohm.data, self.stick_w.data
        stick = None if ohm is None or watt is None else Stick(ohm, watt, self.held_s.data)
        return Round({one.id: field.data or "" for one, field in self.readings(listed)}, instrument, self.proved_on.data or "",
                     self.proved_before.data == "yes", self.proved_after.data == "yes", stick, bool(self.really.data))

    def wrong(self, each: dict[int, str]) -> None:
        """Each refusal beside its reading."""
        for capacitor_id, words in each.items():
            self.add_error(BadInput(words, f"volts_{capacitor_id}"))


def round_form(listed: SupplyList) -> type[RoundForm]:
    """The form of a round for this list: one reading for each capacitor."""
    fields = {f"volts_{one.id}": StringField(one.name, [Length(max=30)]) for one in listed.capacitors}
    return type("RoundForm", (RoundForm,), fields)


def as_before(last: DischargeRecord | None) -> dict[str, Any]:
    """The same meter, stick and known voltage as last time. What was read, and whether the meter was proved, is asked anew."""
    if last is None:
        return {}
    return {"instrument": last.instrument_id, "proved_on": last.proved_on, "stick_ohm": last.stick_ohm, "stick_w": last.stick_w,
            "held_s": last.held_s}
