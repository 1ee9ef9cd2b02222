"""The forms of findings."""

from __future__ import annotations

from typing import Any

from wtforms import (
    HiddenField,
    MultipleFileField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import Length, NumberRange, Optional

from app.errors import BadInput
from app.findings.models.findings import Finding
from app.findings.rules.alternatives import chosen, groups, one_left_open
from app.findings.rules.life import CHOICES, Area, Confidence, DecidedBy, Disposition, Origin
from app.findings.rules.risk import EQUIPMENT, FUNCTION, Probability, Severity
from app.findings.rules.signs import Sign, stored
from app.findings.service.findings import Facts
from app.kernel.form_fields import House, Needed, blank, options
from app.kernel.numbers import FloatField, IntegerField
from app.kernel.speech import say


class FindingForm(House):
    """A finding as it is seen and judged at the bench. Its risk is computed and has no field."""

    observation = StringField("What was found", [Needed("Enter what was seen or measured."), Length(max=300)])
    area = SelectField("Where in the amp", coerce=Area, choices=options((one.value, one.value) for one in Area))
    place = StringField("Which one", [Optional(), Length(max=120)])
    origin = RadioField("It comes from", [Needed("Choose where it comes from.")], coerce=Origin,
                        choices=options((one.value, one.value) for one in Origin))
    severity = RadioField("Could hurt", [Optional()], coerce=blank(int),
                          choices=options((str(int(one)), one.word) for one in Severity))
    probability = SelectField("Chance of this injury in the amp’s remaining life", [Optional()], coerce=blank(str),
                              choices=options([("", "not said"), *((one.value, one.word) for one in Probability)]))
    hazard = StringField("How it could hurt", [Optional(), Length(max=300)])
    disposition = RadioField("Decision", [Optional()], coerce=blank(Disposition),
                             choices=options((one.value, one.word) for one in CHOICES))
    disposition_words = StringField("In detail", [Optional(), Length(max=300)])
    check_words = StringField("Proved by", [Optional(), Length(max=300)])
    cause = StringField("Cause", [Optional(), Length(max=300)])
    confidence = RadioField("The cause is", [Needed("Choose how sure the cause is.")], coerce=Confidence,
                            choices=options((one.value, one.value) for one in Confidence))
    equipment_severity = SelectField("Harm to the amp", [Optional()], coerce=blank(int),
                                     choices=options([("", "not said"), *((str(k), v) for k, v in EQUIPMENT.items())]))
    function_severity = SelectField("Harm to its sound", [Optional()], coerce=blank(int),
                                    choices=options([("", "not said"), *((str(k), v) for k, v in FUNCTION.items())]))
    authority = RadioField("Who decides", [Needed("Choose who decides.")], coerce=DecidedBy,
                           choices=options((one.value, one.value) for one in DecidedBy))
    signs = SelectMultipleField("Signs that need extra checks", [Optional()],
                                choices=options((one.value, one.value) for one in Sign))
    track = StringField("Arc track: valve and pins", [Optional(), Length(max=40)])
    code = HiddenField()
    photo_id = IntegerField("Photo", [Optional()])
    pin_x = FloatField("Across", [Optional(), NumberRange(0, 1, "A pin lies on the picture.")])
    pin_y = FloatField("Down", [Optional(), NumberRange(0, 1, "A pin lies on the picture.")])
    photos = MultipleFileField("Another photo of it", [Optional()])
    seen_0 = SelectMultipleField(validators=[Optional()], validate_choice=False)
    seen_1 = SelectMultipleField(validators=[Optional()], validate_choice=False)
    seen_2 = SelectMultipleField(validators=[Optional()], validate_choice=False)
    ready = ""  # ready words that hold alternatives, while none is chosen

    def offer(self, ready: str) -> None:
        """Ask which of the alternatives in these ready words was seen; the sentence is made of the answer."""
        if not groups(ready):
            return
        self.ready = ready
        self.observation.validators, self.observation.flags.required = [Optional(), Length(max=300)], False
        for field, group, label in zip(self.asked(), groups(ready), one_left_open(ready), strict=True):
            field.choices, field.label.text = options((one, one) for one in group), f"What you saw: {say(label)}"

    def asked(self) -> list[SelectMultipleField]:
        """A field for each bracket of the ready words."""
        return [self.seen_0, self.seen_1, self.seen_2][:len(groups(self.ready))]

    def validate(self, extra_validators: Any = None) -> bool:
        found = super().validate(extra_validators)
        if not self.ready:
            return found
        typed, picked = (self.observation.data or "").strip(), [field.data or [] for field in self.asked()]
        if typed and any(picked):
            self.add_error(BadInput("Clear one of the two: the choice above, or your own words here.", "observation"))
            return False
        if typed:
            return found
        for field, group in zip(self.asked(), groups(self.ready), strict=True):
            if not field.data or not set(field.data) <= set(group):
                self.add_error(BadInput(f"Choose what you saw: {', '.join(group[:-1])} or {group[-1]}.", field.name))
                found = False
        return found

    def observed(self) -> str:
        """What was typed, else the ready words with what was chosen."""
        typed = self.observation.data or ""
        return typed if typed.strip() or not self.ready else chosen(self.ready, [field.data for field in self.asked()])

    def facts(self) -> Facts:
        """What was said, without the decision."""
        chosen = ("area", "origin", "confidence", "severity", "probability", "equipment_severity", "function_severity")
        typed = ("place", "cause", "hazard", "check_words", "code", "track")
        given: dict[str, Any] = {name: self[name].data for name in chosen}
        given |= {name: self[name].data or "" for name in typed} | {"observation": self.observed()}
        return Facts(**given, signs=stored(self.signs.data or ()))

    @staticmethod
    def stored(finding: Finding) -> dict[str, Any]:
        """The fields of a finding that stands, for a page that shows it."""
        names = ("observation", "area", "place", "origin", "severity", "probability", "hazard", "disposition",
                 "disposition_words", "check_words", "cause", "confidence", "equipment_severity", "function_severity",
                 "code", "track")
        found = {name: getattr(finding, name) for name in names}
        found["signs"] = [one.value for one in Sign if one in finding.sign_set]
        return {**found, "authority": finding.authority or DecidedBy.TECHNICIAN}


class ActForm(House):
    """What was done."""

    words = TextAreaField("What was done", [Needed("Enter what was done."), Length(max=600)])


class ProveForm(House):
    """What the check showed."""

    result = StringField("What the check showed", [Needed("Enter what the check showed, with its reading."),
                                                   Length(max=400)])
    instrument = StringField("Instrument", [Optional(), Length(max=120)])


class ReasonForm(House):
    """A reason, for withdrawing or reopening."""

    reason = TextAreaField("Why", [Needed("Enter why."), Length(max=400)])
