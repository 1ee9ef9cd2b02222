"""The form of a usual finding."""

from __future__ import annotations

from typing import Any

from wtforms import BooleanField, RadioField, SelectField, SelectMultipleField, StringField
from wtforms.validators import Length, Optional

from app.findings.rules.life import CHOICES, Area, Disposition, Origin
from app.findings.rules.risk import EQUIPMENT, FUNCTION, Probability, Severity
from app.findings.rules.signs import Sign, stored
from app.findings.usual import Usual
from app.kernel.form_fields import House, Needed, blank, options


class UsualForm(House):
    """A usual finding as the shop says it."""

    code = StringField("Code", [Needed("Enter a code such as BRD-05."), Length(max=10)])
    area = SelectField("Where in the amp", coerce=Area, choices=options((one.value, one.value) for one in Area))
    short = StringField("Short name (button)", [Needed("Enter two or three words."), Length(max=40)])
    observation = StringField("What is seen", [Needed("Enter what is seen or measured."), Length(max=300)])
    cause = StringField("Usual cause", [Optional(), Length(max=300)])
    origin = RadioField("It comes from", [Needed("Choose where it comes from.")], coerce=Origin,
                        choices=options((one.value, one.value) for one in Origin))
    severity = RadioField("Could hurt", [Needed("Choose the injury severity.")], coerce=blank(int),
                          choices=options((str(int(one)), one.word) for one in Severity))
    probability = SelectField("Chance of this injury in the amp’s remaining life", [Optional()], coerce=blank(str),
                              choices=options([("", "not said"), *((one.value, one.word) for one in Probability)]))
    hazard = StringField("How it could hurt", [Optional(), Length(max=300)])
    equipment_severity = SelectField("Harm to the amp", [Optional()], coerce=blank(int),
                                     choices=options([("", "not said"), *((str(k), v) for k, v in EQUIPMENT.items())]))
    function_severity = SelectField("Harm to its sound", [Optional()], coerce=blank(int),
                                    choices=options([("", "not said"), *((str(k), v) for k, v in FUNCTION.items())]))
    disposition = RadioField("Usual decision", [Needed("Choose what is usually decided.")], coerce=blank(Disposition),
                             choices=options((one.value, one.word) for one in CHOICES))
    disposition_words = StringField("In detail", [Optional(), Length(max=300)])
    check_words = StringField("Proved by", [Needed("Enter which check proves the repair."), Length(max=300)])
    signs = SelectMultipleField("Signs that need extra checks", [Optional()],
                                choices=options((one.value, one.value) for one in Sign))
    retired = BooleanField("No longer offered")

    def entry(self) -> Usual:
        """What was entered."""
        given: dict[str, Any] = dict(self.data)
        for name in ("cause", "hazard", "disposition_words"):
            given[name] = " ".join((given[name] or "").split())
        return Usual(**{**given, "signs": stored(self.signs.data or ())})

    @staticmethod
    def stored(entry: Usual) -> dict[str, Any]:
        return {**vars(entry), "signs": [one for one in entry.signs.split("|") if one]}
