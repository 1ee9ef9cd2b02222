"""What people type about safety."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import BooleanField, DateField, Field, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional, ValidationError

from app.electrics import ElectricsError, parse
from app.kernel.form_fields import House, Needed, NotationField, QuantityField, as_typed, in_si, options
from app.measuring.insulation import ASKED
from app.measuring.models import Instrument, Reading
from app.measuring.rules import Quantity
from app.safety.models.profiles import ProfileStep
from app.safety.models.testing import TestStep
from app.safety.rules import StepKind
from app.safety.service.profiles import LimitFacts
from app.safety.service.testing import Setup

SECTIONS = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0)  # nominal sections of mains leads, IEC 60228
YES_OR_NO = options([("yes", "yes"), ("no", "no")])


class StartForm(House):
    """What a test is done with."""

    lead_metre = QuantityField("Length of the mains lead",
                               [Optional(), NumberRange(0.1, 100, "Enter metres from 0.1 to 100, such as 3.")], unit="")
    lead_mm2 = SelectField("Section of its conductors", coerce=float,
                           choices=options((one, f"{one:g} mm²") for one in SECTIONS), default=1.0)
    lead_words = StringField("Which lead", [Optional(), Length(max=120)])
    mains_v = QuantityField("Mains voltage", [Optional(), NumberRange(0, 300, "Enter volts from 0 to 300.")], unit="V")
    conditions = StringField("Conditions", [Optional(), Length(max=160)])
    conducts = RadioField(ASKED, [Optional()], validate_choice=False,
                          choices=options([("no", "nothing of the kind"), ("yes", "yes, one is fitted")]))

    def setup(self, protection: str) -> Setup:
        """What was entered; a class II amp has no conductor to measure."""
        earthed = protection == "I"
        return Setup(self.lead_metre.data if earthed else None, self.lead_mm2.data if earthed else None,
                     self.lead_words.data or "", self.conditions.data or "", self.mains_v.data,
                     {"yes": True, "no": False}.get(self.conducts.data))


class AnswerForm(House):
    """Yes or no to what was looked at."""

    seen = SelectField("Is it so?", [Needed("Choose yes or no.")], choices=YES_OR_NO)
    words = StringField("In words", [Optional(), Length(max=300)])
    reason = StringField("Why it is done again", [Optional(), Length(max=200)])


def look_form(steps: Sequence[TestStep]) -> type[House]:
    """A form that asks all these steps at once: seen_<id>, yes or no, and words_<id>. What is left open stays open."""
    fields: dict[str, Any] = {}
    for step in steps:
        words = [Length(max=300), WordsGoWith(f"seen_{step.id}", always=step.kind is StepKind.FUSE)]
        fields[f"seen_{step.id}"] = SelectField(step.title, choices=YES_OR_NO,
                                               validate_choice=False)
        fields[f"words_{step.id}"] = StringField("In words", words)
    return type("LookForm", (House,), fields)


class WordsGoWith:
    """A no needs words, and so does a fuse: what is fitted."""

    def __init__(self, answer: str, *, always: bool) -> None:
        self.answer, self.always = answer, always

    def __call__(self, form: House, field: Field) -> None:
        seen = form[self.answer].data
        if (field.data or "").strip() or not seen:
            return
        if self.always:
            raise ValidationError("Enter the fuse fitted: type, amperes, volts.")
        if seen != "yes":
            raise ValidationError("Enter what is wrong.")


class MeasureForm(House):
    """The reading of a step, and the current or volts that the tester worked with."""

    none_there = BooleanField("There is no such part on this amp")
    typed = NotationField("Reading", [Length(max=30)])
    zero_is_real = BooleanField("It truly shows 0: leads apart first, null checked")
    instrument = SelectField("Instrument", coerce=int)
    level = NotationField("Tested with", [Optional(), Length(max=20)])
    condition = StringField("How it was measured", [Optional(), Length(max=160)])
    words = StringField("Note", [Optional(), Length(max=300)])
    reason = StringField("Why it is done again", [Optional(), Length(max=200)])

    unit_of_level = ""  # A or V where the step asks what the tester worked with

    def validate_typed(self, field: Field) -> None:
        if not (field.data or "").strip() and not self.none_there.data:
            raise ValidationError("Enter what the instrument shows.")
        if (field.data or "").strip() and self.none_there.data:
            raise ValidationError("There is a reading: take the tick off, or clear the reading.")

    def validate_level(self, field: Field) -> None:
        self.level_si = None
        if self.unit_of_level and (field.data or "").strip():
            try:
                self.level_si = parse(field.data, unit=self.unit_of_level)
            except ElectricsError as wrong:
                raise ValidationError(str(wrong)) from wrong

    level_si: float | None = None

    def offer(self, instruments: Sequence[Instrument], standing: dict[int, str]) -> None:
        """The fitting instruments to choose from, each with how it stands today."""
        self.instrument.choices = options((one.id, f"{one.name}: {one.kind.value}, {standing[one.id]}")
                                          for one in instruments)


class CompleteForm(House):
    """The end of a test: its result is computed, the tag is what hangs on the amp."""

    tag = StringField("Tag number", [Optional(), Length(max=40)])


class VoidForm(House):
    """Why a test no longer counts."""

    reason = StringField("Why it no longer counts", [Needed("Enter why it no longer counts."), Length(max=300)])


class SoakStartForm(House):
    """How the amp is left working."""

    load = StringField("Load and signal", [Needed("Enter into which load it runs, and with what signal."), Length(max=160)])
    mains_v = QuantityField("Mains voltage", [Optional(), NumberRange(0, 300, "Enter volts from 0 to 300.")], unit="V")
    attended = BooleanField("Attended throughout", default=True)


class SoakEndForm(House):
    """What the soak run showed."""

    interrupted = StringField("Why it is interrupted", [Optional(), Length(max=200)])
    symptom = SelectField("Did the symptom show?", [Needed("Choose whether the symptom showed.")],
                          choices=options([("no", "no"), ("yes", "yes, at least once")]))
    observations = TextAreaField("Seen, heard and smelt", [Needed("Enter what was seen, heard and smelt."), Length(max=1000)])


class ProofForm(House):
    """What a finding's check showed."""

    result = StringField("What the check showed", [Needed("Enter what the check showed, with its reading."), Length(max=400)])
    reading = SelectField("It rests on", coerce=int)
    instrument = StringField("Instrument", [Optional(), Length(max=120)])

    def offer(self, readings: Sequence[Reading]) -> None:
        """The readings of this order that a proof may rest on."""
        self.reading.choices = options([(0, "no reading of the list"), *(
            (one.id, f"{one.point}: {one.words}, {one.verdict.word}") for one in readings)])


class ConfirmForm(House):
    """Edition and date of the document that the owner has at hand."""

    edition = StringField("Edition", [Needed("Enter the edition, as the document names it."), Length(max=60)])
    edition_date = DateField("Date of that edition", [Needed("Enter the edition's date.")])
    reason = StringField("Why limits are used that were replaced", [Optional(), Length(max=300)])


class KeepForm(House):
    """Why a profile is kept that was replaced or changed."""

    reason = TextAreaField("Why it is kept", [Needed("Enter why this profile is kept."), Length(max=1000)])


class CopyForm(House):
    """The name of a profile of the shop's own."""

    name = StringField("Name", [Needed("Give it a name of its own."), Length(max=80)])


class LimitForm(House):
    """Another limit, in bench notation."""

    lower = NotationField("At least", [Optional(), Length(max=20)])
    upper = NotationField("At most", [Optional(), Length(max=20)])
    condition = StringField("How it is measured", [Optional(), Length(max=160)])
    source = StringField("Where the limit comes from", [Needed("Enter where the limit comes from."), Length(max=200)])

    quantity: Quantity | None = None

    def validate_lower(self, field: Field) -> None:
        in_si(field, self.quantity)

    def validate_upper(self, field: Field) -> None:
        in_si(field, self.quantity)

    def facts(self) -> LimitFacts:
        """What was entered, in SI units."""
        return LimitFacts(in_si(self.lower, self.quantity), in_si(self.upper, self.quantity), self.condition.data or "",
                          self.source.data or "")

    @staticmethod
    def stored(step: ProfileStep) -> dict[str, Any]:
        """The fields of a step as it stands."""
        return {"lower": as_typed(step.lower), "upper": as_typed(step.upper), "condition": step.condition, "source": step.source}
