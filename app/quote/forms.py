"""Forms of the quote: a line, a revision, the answer, an acknowledgement."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from wtforms import BooleanField, HiddenField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.findings.models.findings import Finding
from app.kernel.form_fields import ClockField, DayField, House, MoneyField, Needed, options
from app.kernel.money import show
from app.kernel.numbers import IntegerField
from app.orders.models import Channel
from app.quote.models import IssuedLine
from app.quote.rules.lines import Draft, Hours, parse_hours, say_hours
from app.quote.rules.words import HowAcknowledged, LineGroup, OldParts, PartCondition, WorkKind
from app.quote.service.answers import Answer
from app.quote.service.declined import Acknowledgement
from app.quote.service.issuing import Terms


class HoursField(StringField):  # type: ignore[misc]
    """Hours, as 1.5, 1:30 or 90 min."""

    def process_formdata(self, valuelist: list[str]) -> None:
        typed = valuelist[0].strip() if valuelist else ""
        self.data = parse_hours(typed) if typed else None

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else say_hours(self.data).removesuffix(" h")


class LineForm(House):
    """One line of the draft."""

    finding = SelectField("What it is about", coerce=int, default=0)
    what = TextAreaField("What would be done", [Needed("Enter what would be done."), Length(max=1000)])
    group = RadioField("Why it is needed", [Needed("Choose why it is needed.")], coerce=LineGroup,
                       choices=options((one, one.value) for one in LineGroup))
    hours_likely = HoursField("Likely hours", [Needed("Enter the likely hours, 0 for none.")])
    hours_low = HoursField("At least", [Optional()])
    hours_high = HoursField("At most", [Optional()])
    parts = StringField("Parts", [Optional(), Length(max=400)])
    parts_minor = MoneyField("Price of the parts, before tax", [Optional()])
    condition = RadioField("The parts are", [Optional()], coerce=PartCondition,
                           choices=options((one, one.value) for one in PartCondition))
    kind = RadioField("Kind of work", coerce=WorkKind, default=WorkKind.REPAIR,
                      choices=options((one, one.value) for one in WorkKind))
    consequence = TextAreaField("What the modification changes", [Optional(), Length(max=1000)])
    warranty_days = IntegerField("Warranty", [Needed("Enter days of warranty, 0 for none."),
                                              NumberRange(0, 3650, "Enter days from 0 to 3650.")])

    def offer(self, findings: Iterable[Finding]) -> None:
        """The findings that a line may be about."""
        self.finding.choices = options([(0, "nothing found: a line of its own"),
                                        *((one.id, f"{one.number}. {one.observation[:80]}") for one in findings)])

    def draft(self) -> Draft:
        """The line as written; where only the likely hours are given, nothing is in doubt."""
        likely = self.hours_likely.data or 0.0
        hours = Hours(likely if self.hours_low.data is None else self.hours_low.data, likely,
                      likely if self.hours_high.data is None else self.hours_high.data)
        return Draft(self.group.data, self.what.data, hours, self.finding.data or None, self.parts.data or "",
                     self.parts_minor.data or 0, self.condition.data, self.kind.data, self.consequence.data or "",
                     self.warranty_days.data)


class WithdrawForm(House):
    """Why a line is withdrawn."""

    reason = TextAreaField("Why it is withdrawn", [Needed("Enter why the line is withdrawn."), Length(max=400)])


class IssueForm(House):
    """What is said with a revision."""

    seen = HiddenField()
    after = HiddenField()
    maximum_minor = MoneyField("The most it may come to, tax included", [Optional()])
    days_to_complete = IntegerField("Days from the answer to the finished amp", [
        Needed("Enter the days it takes, 0 for the same day."), NumberRange(0, 730, "Enter days from 0 to 730.")])
    old_parts = RadioField("Old parts are", coerce=OldParts, default=OldParts.RETURNED,
                           choices=options((one, one.value) for one in OldParts))
    could_change = TextAreaField("What could change the sum", [Needed("Enter what could change the sum."), Length(max=1000)])
    assumptions = TextAreaField("What is assumed, and what is left out", [Optional(), Length(max=1000)])
    declining_means = TextAreaField("What declining means", [Optional(), Length(max=1000)])

    def terms(self) -> Terms:
        seen = frozenset(int(one) for one in (self.seen.data or "").split(",") if one.isdecimal())
        return Terms(self.days_to_complete.data, self.could_change.data, self.old_parts.data, self.maximum_minor.data,
                     self.assumptions.data or "", self.declining_means.data or "", seen,
                     int(self.after.data) if (self.after.data or "").isdecimal() else None)


class AnswerForm(House):
    """How the customer answered. `answer_form` adds a choice for each line of the revision."""

    channel = RadioField("How they answered", [Needed("Choose how they answered.")], coerce=Channel,
                         choices=options((one, one.value) for one in Channel))
    reached_at = StringField("Number called or address written to", [Optional(), Length(max=120)])
    agreed_on = DayField("On", [Needed("Enter the day on which they answered.")])
    agreed_at = ClockField("At", [Needed("Enter the time at which they answered.")])
    ceiling_minor = MoneyField("The repair may cost at most, tax included", [Needed("Enter the sum they agreed to.")])
    conditions = TextAreaField("Conditions", [Optional(), Length(max=1000)])
    signature = StringField("Signature", [Optional(), Length(max=90_000)])
    on_paper = BooleanField("Signed on paper; the shop keeps the paper")

    def answer(self, lines: Iterable[IssuedLine], zone: ZoneInfo) -> Answer:
        """What was answered; the moment is typed in the shop's zone."""
        moment = datetime.combine(self.agreed_on.data, self.agreed_at.data, zone).astimezone(UTC)
        decisions = {line.id: self[f"line_{line.id}"].data == "agreed" for line in lines}
        return Answer(decisions, self.ceiling_minor.data or 0, self.channel.data, moment, self.reached_at.data or "",
                      self.conditions.data or "", self.signature.data or "", bool(self.on_paper.data))


def answer_form(lines: Iterable[IssuedLine], currency: str) -> type[AnswerForm]:
    """The form of the answer to these lines."""
    fields: dict[str, Any] = {
        f"line_{line.id}": RadioField(f"{line.what}: {show(line.net_minor, currency)} before tax",
                                      [Needed(f"Enter whether this is agreed or declined: {line.what}.")],
                                      choices=options((word, word) for word in ("agreed", "declined")))
        for line in lines}
    return type("AnswerForm", (AnswerForm,), fields)


class DeclinedForm(House):
    """What declining means, and whose name stands under it."""

    hazard = TextAreaField("How someone could be hurt, in one plain sentence", [
        Needed("Enter in one plain sentence how someone could be hurt."), Length(max=600)])
    advice = TextAreaField("What was advised", [Needed("Enter what was advised."), Length(max=600)])
    made_safe = StringField("What was done to make the amp safe", [
        Needed("Enter what was done to make the amp safe: lead removed, plug cut, tag put on."), Length(max=400)])
    tag = StringField("Number of the tag", [Optional(), Length(max=40)])
    signer_name = StringField("Who declined", [Needed("Enter the name of the person who declined."), Length(max=120)])
    how = RadioField("How acknowledged", [Needed("Choose how it was acknowledged.")], coerce=HowAcknowledged,
                     choices=options((one, one.value) for one in HowAcknowledged))
    signature = StringField("Signature", [Optional(), Length(max=90_000)])
    witness = StringField("Witness, if they refused to sign", [Optional(), Length(max=120)])

    def paper(self) -> Acknowledgement:
        return Acknowledgement(self.hazard.data, self.advice.data, self.made_safe.data, self.how.data, self.signer_name.data,
                               self.signature.data or "", self.witness.data or "", self.tag.data or "")
