"""What people enter in a first power-up."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from wtforms import BooleanField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length, NumberRange, Optional

from app.electrics import ElectricsError, parse
from app.errors import BadInput
from app.findings.rules.life import Area
from app.kernel.form_fields import House, Needed, NotationField, QuantityField, blank, options
from app.kernel.numbers import IntegerField
from app.measuring.models import Instrument
from app.powerup.rules.items import Band, Biased, Item, ReadBy
from app.powerup.rules.mains import Asked
from app.powerup.rules.trials import TrialKind
from app.powerup.service.bias import Typed
from app.powerup.service.runs import Begun

YES_NO = options([("yes", "yes"), ("no", "no")])
RECTIFIERS = options([("bridge", "bridge"), ("full_wave_ct", "two diodes, centre tap"), ("half_wave", "half wave")])
_LINE = Length(max=300)
_BIAS = NumberRange(-300, 0, "Enter volts from −300 to 0.")
_ANODES = NumberRange(100, 100e3, "Enter ohms from 100 to 100k.")


class BeginForm(House):
    """What a run is begun with."""

    valve = StringField("Output valves, type", [Needed("Enter the type of the output valves, such as 6L6GC."), Length(max=40)])
    marks = StringField("Their marks", [Needed("Enter their marks, such as V5, V6."), Length(max=120)])
    biased = RadioField("Bias", [Needed("Choose where the bias comes from.")], coerce=blank(str),
                        choices=options([(one.value, one.value) for one in Biased]))
    small = StringField("Small valves, their marks", [Optional(), Length(max=120)])
    rectifier = RadioField("Rectifier", [Needed("Choose the rectifier.")], coerce=blank(str),
                           choices=options([("silicon", "silicon"), ("valve", "valve")]))
    heater_v = QuantityField("Heaters", [Needed("Enter the heater voltage, such as 6.3."),
                                         NumberRange(1, 60, "Enter volts from 1 to 60.")], unit="V")
    load_ohm = QuantityField("Load", [Optional(), NumberRange(0.5, 1000, "Enter ohms from 0.5 to 1000.")], unit="ohm")
    expected_w = QuantityField("Expected power", [Optional(), NumberRange(0.1, 2000, "Enter watts from 0.1 to 2000.")], unit="W")
    expected_source = StringField("It comes from", [Optional(), Length(max=160)])

    def begun(self) -> Begun:
        """What was entered."""
        return Begun(self.valve.data or "", self.marks.data or "", Biased(self.biased.data), self.small.data or "",
                     self.rectifier.data == "silicon", float(self.heater_v.data or 0), self.load_ohm.data, self.expected_w.data,
                     self.expected_source.data or "")


class LookForm(House):
    """Yes or no to what is looked at."""

    seen = RadioField("Is it so?", [Needed("Choose yes or no.")], choices=YES_NO, coerce=blank(str))
    words = StringField("What you see instead", [Optional(), _LINE])


class ReadForm(House):
    """A reading, its band where the program leaves that open, and the instrument."""

    typed = NotationField("Reading", [Needed("Enter what the instrument shows."), Length(max=30)])
    zero_is_real = BooleanField("It truly shows 0: leads apart first, null checked")
    instrument = SelectField("Instrument", coerce=int)
    level = NotationField("Tested with", [Optional(), Length(max=20)])
    expected = NotationField("Expected", [Optional(), Length(max=30)])
    lower = NotationField("At least", [Optional(), Length(max=30)])
    upper = NotationField("At most", [Optional(), Length(max=30)])
    source = StringField("These limits come from", [Optional(), Length(max=160)])
    words = StringField("Note", [Optional(), _LINE])
    correcting = StringField("What was wrong with the earlier entry", [Optional(), Length(max=200)])

    def offer(self, instruments: Iterable[Instrument], standing: dict[int, str]) -> None:
        """The instruments to choose from, each with how it stands."""
        self.instrument.choices = options((one.id, f"{one.name}: {one.kind.value}, {standing[one.id]}") for one in instruments)

    def band(self, item: Item) -> Band | None:
        """The band as typed; from an expected value where the item gives its share. None where nothing was typed."""
        unit = item.quantity.unit if item.quantity else ""
        numbers = {name: self._number(name, unit) for name in ("expected", "lower", "upper")}
        if item.within is not None and numbers["expected"] is not None:
            spread = abs(numbers["expected"]) * item.within
            numbers |= {"lower": numbers["expected"] - spread, "upper": numbers["expected"] + spread}
        if numbers["lower"] is None and numbers["upper"] is None:
            return None
        return Band(numbers["lower"], numbers["upper"], (self.source.data or "").strip(), numbers["expected"])

    def level_si(self, tester: ReadBy) -> float | None:
        """What the tester worked with, A or V."""
        unit = {ReadBy.BOND: "A", ReadBy.INSULATION: "V"}.get(tester)
        return None if unit is None else self._number("level", unit)

    def _number(self, name: str, unit: str) -> float | None:
        text = (self[name].data or "").strip()
        if not text:
            return None
        try:
            return float(parse(text, unit=unit))
        except ElectricsError as wrong:
            raise BadInput(str(wrong), name) from wrong


class LeaveForm(House):
    """Why an item is not judged."""

    left_why = StringField("Why it is not judged", [Needed("Enter why it is not judged."), Length(max=200)])


class BiasForm(House):
    """All output valves at one time. The currents are added for each valve."""

    anode = NotationField("Anodes to 0 V", [Length(max=30)])
    screen = NotationField("Screens to 0 V", [Length(max=30)])
    cathode = NotationField("Cathodes to 0 V", [Length(max=30)])
    grid = NotationField("Grids to 0 V", [Length(max=30)])
    cold_end = QuantityField("Grids, pot at its cold end", [Optional(), _BIAS], unit="V")
    hot_end = QuantityField("Grids, pot at its hot end", [Optional(), _BIAS], unit="V")
    load_aa = QuantityField("Load, anode to anode", [Optional(), _ANODES], unit="ohm")
    volts = SelectField("Meter for volts", coerce=int)
    amperes = SelectField("Meter for currents", coerce=int)

    marks: tuple[str, ...] = ()

    def offer(self, instruments: Iterable[Instrument], standing: dict[int, str]) -> None:
        """The meters to choose from, each with how it stands."""
        choices = options((one.id, f"{one.name}: {one.kind.value}, {standing[one.id]}") for one in instruments)
        self.volts.choices, self.amperes.choices = choices, list(choices)

    def valves(self) -> list[tuple[str, Any, Any]]:
        """Each mark with its two fields."""
        return [(mark, self[f"current_{mark}"], self[f"screen_{mark}"]) for mark in self.marks]

    def given(self, volts: Instrument, amperes: Instrument) -> Typed:
        """What was entered."""
        return Typed(self.anode.data or "", {mark: field.data or "" for mark, field, _ in self.valves()}, volts, amperes,
                     self.screen.data or "", self.cathode.data or "", self.grid.data or "",
                     {mark: field.data or "" for mark, _, field in self.valves()}, self.cold_end.data, self.hot_end.data,
                     self.load_aa.data)


def bias_form(marks: tuple[str, ...]) -> type[BiasForm]:
    """The form of a round for these valves."""
    fields: dict[str, Any] = {"marks": marks}
    for mark in marks:
        fields[f"current_{mark}"] = NotationField(f"{mark} cathode current", [Length(max=30)])
        fields[f"screen_{mark}"] = NotationField(f"{mark} screen current", [Optional(), Length(max=30)])
    return type("BiasForm", (BiasForm,), fields)


class AbortForm(House):
    """What was seen: it becomes a finding."""

    observation = StringField("What was found", [Needed("Enter what was seen or measured."), _LINE])
    area = SelectField("Where in the amp", choices=options([(one.value, one.value) for one in Area]))
    place = StringField("Which one", [Optional(), Length(max=120)])
    off = BooleanField("It is switched off and unplugged")


class ResumeForm(House):
    """What is expected now, and whether hands were in the amp."""

    hypothesis = TextAreaField("What was wrong, and what you expect to read now",
                               [Needed("Enter what was wrong and what you expect to read now."), Length(max=600)])
    hands = RadioField("Hands in the amp since", [Needed("Choose whether hands were in the amp.")], coerce=blank(str),
                       choices=options([("yes", "yes: from the visual inspection again"),
                                        ("no", "no: only a setting or a valve in its socket")]))


class ReasonForm(House):
    """A reason."""

    reason = StringField("Reason", [Needed("Enter the reason."), _LINE])


class TrialForm(House):
    """So many trials, and in how many it showed."""

    kind = SelectField("What was tried", choices=options([(one.value, one.value) for one in TrialKind]))
    trials = IntegerField("How many times", [Needed("Enter how many times it was tried."),
                                             NumberRange(1, 10000, "Enter a number from 1 to 10000.")])
    shown = IntegerField("The fault showed", [InputRequired("Enter in how many of them it showed; 0 if in none."),
                                              NumberRange(0, 10000, "Enter a number from 0 to 10000.")])
    words = StringField("What showed", [Optional(), _LINE])


class MainsForm(House):
    """What hangs on the mains transformer."""

    heaters = StringField("Valves on the heater winding", [Needed("Enter them, such as 4x 12AX7, 2x 6L6GC."), Length(max=200)])
    heater_winding_a = QuantityField("Heater winding, rated", [Optional(), NumberRange(0.1, 100, "Enter amperes from 0.1 to 100.")],
                                     unit="A")
    rectifier = SelectField("Rectifier", choices=RECTIFIERS)
    ht_vrms = QuantityField("HT winding, no load", [Optional(), NumberRange(1, 2000, "Enter volts from 1 to 2000.")], unit="V")
    source_ohm = QuantityField("Its resistance, primary included",
                               [Optional(), NumberRange(0.01, 1e5, "Enter ohms from 0.01 to 100k.")], unit="ohm")
    reservoir_farad = QuantityField("Reservoir", [Optional(), NumberRange(1e-7, 0.01, "Enter farads such as 50u.")], unit="F")
    ht_a = QuantityField("HT current", [Optional(), NumberRange(1e-4, 5, "Enter amperes such as 180m.")], unit="A")
    rated_va = QuantityField("Transformer, rated", [Optional(), NumberRange(1, 5000, "Enter VA from 1 to 5000.")], unit="VA")
    no_load_a = QuantityField("Mains current, no load", [Optional(), NumberRange(1e-3, 20, "Enter amperes such as 90m.")], unit="A")
    no_load_source = StringField("It comes from", [Optional(), Length(max=160)])

    def asked(self, heater_v: float, mains_v: float, mains_hz: float, region: str) -> Asked:
        """What was entered, with the shop's mains."""
        return Asked(self.heaters.data or "", heater_v, mains_v, mains_hz, self.heater_winding_a.data, self.ht_vrms.data,
                     self.rectifier.data, self.source_ohm.data, self.reservoir_farad.data, self.ht_a.data, self.rated_va.data,
                     self.no_load_a.data, region)
