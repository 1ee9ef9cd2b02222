"""What people type about an incident."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo

from wtforms import Field, RadioField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.incidents.rules import Harm, Told
from app.incidents.service import Happened, Said
from app.kernel.form_fields import ClockField, DayField, House, Needed, options
from app.kernel.numbers import IntegerField


class IncidentForm(House):
    """What happened."""

    order = IntegerField("Repair number, if it is about one", [Optional()])
    who = StringField("Who was hurt, or could have been", [Needed("Enter who was hurt, or could have been."), Length(max=200)])
    harm = RadioField("How badly", coerce=Harm, choices=options((h.value, h.value) for h in Harm))
    what = TextAreaField("What happened", [Needed("Enter what happened."), Length(max=4000)])
    place = StringField("Where", [Needed("Enter where it happened."), Length(max=200)])
    happened_on = DayField("Happened on", [Needed("Enter the day.")])
    happened_at = ClockField("Time it happened", [Needed("Enter the time, as near as it is known.")])
    learned_on = DayField("The shop learned of it on", [Needed("Enter the day.")])
    learned_at = ClockField("Time the shop learned of it", [Needed("Enter the time.")])
    first_aid = TextAreaField("First aid, and what was done at once", [Optional(), Length(max=2000)])
    kept = TextAreaField("What was set aside and left as it was", [Optional(), Length(max=2000)])

    def happened(self, zone: tzinfo) -> Happened:
        """What was entered; moments in the shop's zone."""
        return Happened(self.who.data or "", self.harm.data, self.what.data or "", self.place.data or "",
                        _moment(self.happened_on, self.happened_at, zone), _moment(self.learned_on, self.learned_at, zone),
                        self.first_aid.data or "", self.kept.data or "")


class EntryForm(House):
    """What was told to whom, or is put right."""

    kind = RadioField("It is", coerce=Told, default=Told.TOLD)
    whom = StringField("To whom", [Optional(), Length(max=200)])
    what = TextAreaField("What", [Needed("Enter what was told, or what is put right."), Length(max=4000)])
    told_on = DayField("On", [Needed("Enter the day.")])
    told_at = ClockField("At", [Needed("Enter the time.")])
    proof = StringField("Proof", [Optional(), Length(max=300)])

    def offer(self, *, owner: bool) -> None:
        """That no report is due is for the owner to say."""
        self.kind.choices = options((one.value, one.value) for one in Told if owner or one is not Told.NOT_DUE)

    def said(self, zone: tzinfo) -> Said:
        """What was entered; its moment in the shop's zone."""
        return Said(self.kind.data, self.what.data or "", _moment(self.told_on, self.told_at, zone), self.whom.data or "",
                    self.proof.data or "")


def _moment(day: Field, at: Field, zone: tzinfo) -> datetime:
    return datetime.combine(day.data, at.data, zone).astimezone(UTC)
