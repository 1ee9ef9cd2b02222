"""The forms of findings."""

from __future__ import annotations

from typing import Any

from wtforms import StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.findings.models.findings import Finding
from app.findings.rules.life import DecidedBy
from app.findings.spec import Decided, FindingFacts, Shown
from app.kernel.form_fields import House, Needed
from app.kernel.spec_forms import asks, read_facts, shown


@asks(Shown)
@asks(Decided)
@asks(FindingFacts)
class FindingForm(House):
    """A finding as it is seen and judged at the bench. Its risk is computed and has no field."""

    def facts(self) -> FindingFacts:
        """What was said, without the decision."""
        return read_facts(self, FindingFacts)

    @staticmethod
    def stored(finding: Finding) -> dict[str, Any]:
        """The fields of a finding that stands, for a page that shows it."""
        decided = {**shown(finding, Decided), "authority": finding.authority or DecidedBy.TECHNICIAN}
        return {**shown(finding, FindingFacts), **decided}


class ActForm(House):
    """What was done."""

    words = TextAreaField("What was done", [Needed("Say what was done."), Length(max=600)])


class ProveForm(House):
    """What the check showed."""

    result = StringField("What the check showed", [Needed("Say what the check showed, with its reading."),
                                                   Length(max=400)])
    instrument = StringField("Instrument", [Optional(), Length(max=120)])


class ReasonForm(House):
    """A reason, for withdrawing or reopening."""

    reason = TextAreaField("Why", [Needed("Say why."), Length(max=400)])
