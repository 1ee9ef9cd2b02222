"""The forms of findings."""

from __future__ import annotations

from typing import Any

from wtforms import SelectMultipleField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.errors import BadInput
from app.findings.models.findings import Finding
from app.findings.rules.alternatives import chosen, groups, one_left_open
from app.findings.rules.life import DecidedBy
from app.findings.spec import Decided, FindingFacts, Shown
from app.kernel.form_fields import House, Needed, options
from app.kernel.spec_forms import asks, read_facts, shown
from app.kernel.speech import say


@asks(Shown)
@asks(Decided)
@asks(FindingFacts)
class FindingForm(House):
    """A finding as it is seen and judged at the bench. Its risk is computed and has no field."""

    feeds = {"seen_0": "observation", "seen_1": "observation", "seen_2": "observation"}
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

    def facts(self) -> FindingFacts:
        """What was said, without the decision."""
        return read_facts(self, FindingFacts, observation=self.observed())

    @staticmethod
    def stored(finding: Finding) -> dict[str, Any]:
        """The fields of a finding that stands, for a page that shows it."""
        decided = {**shown(finding, Decided), "authority": finding.authority or DecidedBy.TECHNICIAN}
        return {**shown(finding, FindingFacts), **decided}


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
