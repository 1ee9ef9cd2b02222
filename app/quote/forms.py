"""Forms of the quote: a line, a revision, the answer, an acknowledgement."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from wtforms import BooleanField, HiddenField, RadioField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.findings.models.findings import Finding
from app.kernel.form_fields import ClockField, DayField, House, MoneyField, Needed, options
from app.kernel.money import show
from app.kernel.numbers import IntegerField
from app.kernel.spec_forms import asks, field_for, read_facts
from app.orders.models import Channel
from app.quote.hours_field import HoursField
from app.quote.models import IssuedLine
from app.quote.rules.lines import About, Draft, HoursAsked, TypedHours
from app.quote.rules.words import HowAcknowledged, OldParts
from app.quote.service.answers import Answer
from app.quote.service.ceiling import Raised
from app.quote.service.declined import Acknowledgement
from app.quote.service.issuing import Terms
from app.shop.prices import Rate
from app.shop.queries import the_shop


@field_for.register
def _(how: TypedHours, presence: Any) -> Any:
    return HoursField(how.label, [presence])


@asks(Draft)
@asks(HoursAsked)
@asks(About)
class LineForm(House):
    """One line of the draft."""

    def offer(self, findings: Iterable[Finding]) -> None:
        """The findings that a line may be about."""
        self.finding.choices = options([(0, "nothing found: a line of its own"),
                                        *((one.id, f"{one.number}. {one.observation[:80]}") for one in findings)])
        shop = the_shop()
        self.rate_name.choices = options([("", f"usual rate, {show(shop.hourly_rate_minor, shop.currency)} an hour"),
                                          *((one.name, _said(one, shop.currency)) for one in shop.rates)])

    def draft(self) -> Draft:
        """The line as written."""
        return read_facts(self, Draft, hours=read_facts(self, HoursAsked).hours, finding_id=self.finding.data or None)


def _said(rate: Rate, currency: str) -> str:
    least = f", at least {show(rate.least_minor, currency)} an item" if rate.least_minor else ""
    return f"{rate.name}, {show(rate.minor, currency)} an hour{least}"


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

    told_minor = HiddenField()  # what the items that were agreed to come to, as the page told it where others were declined
    channel = RadioField("How they answered", [Needed("Choose how they answered.")], coerce=Channel,
                         choices=options((one, one.value) for one in Channel))
    reached_at = StringField("Number called or address written to", [Optional(), Length(max=120)])
    agreed_on = DayField("On", [Needed("Enter the day on which they answered.")])
    agreed_at = ClockField("At", [Needed("Enter the time at which they answered.")])
    ceiling_minor = MoneyField("The repair may cost at most, tax included", [Needed("Enter the sum they agreed to.")])
    conditions = TextAreaField("Conditions", [Optional(), Length(max=1000)])
    signature = StringField("Signature", [Optional(), Length(max=90_000)])
    typed = StringField("Or their name, typed by themselves", [Optional(), Length(max=120)])
    on_paper = BooleanField("Signed on paper; the shop keeps the paper")

    def answer(self, lines: Iterable[IssuedLine], zone: ZoneInfo) -> Answer:
        """What was answered; the moment is typed in the shop's zone."""
        moment = datetime.combine(self.agreed_on.data, self.agreed_at.data, zone).astimezone(UTC)
        decisions = {line.id: self[f"line_{line.id}"].data == "agreed" for line in lines}
        return Answer(decisions, self.ceiling_minor.data or 0, self.channel.data, moment, self.reached_at.data or "",
                      self.conditions.data or "", self.signature.data or "", bool(self.on_paper.data),
                      (self.typed.data or "").strip())


class CeilingForm(House):
    """A higher cost limit, with the facts of the consent. The new limit is entered by whoever heard it."""

    ceiling_minor = MoneyField("New limit for the whole order, tax included", [Needed("Enter the sum they agreed to.")])
    what_for = TextAreaField("What it is agreed for", [Needed("Enter what the customer agreed to pay more for."), Length(max=400)])
    channel = RadioField("How they agreed", [Needed("Choose how they agreed.")], coerce=Channel,
                         choices=options((one, one.value) for one in Channel if one is not Channel.SIGNATURE))
    reached_at = StringField("Number called or address written to", [Optional(), Length(max=120)])
    agreed_on = DayField("On", [Needed("Enter the day on which they agreed.")])
    agreed_at = ClockField("At", [Needed("Enter the time at which they agreed.")])
    conditions = TextAreaField("Conditions", [Optional(), Length(max=1000)])

    def raised(self, zone: ZoneInfo) -> Raised:
        """What was agreed; the moment is typed in the shop's zone."""
        moment = datetime.combine(self.agreed_on.data, self.agreed_at.data, zone).astimezone(UTC)
        return Raised(int(self.ceiling_minor.data or 0), self.what_for.data or "", self.channel.data, moment,
                      self.reached_at.data or "", self.conditions.data or "")


def answer_form(lines: Iterable[IssuedLine], currency: str) -> type[AnswerForm]:
    """The form of the answer to these lines."""
    fields: dict[str, Any] = {
        f"line_{line.id}": RadioField(f"{line.what}: {show(line.net_minor, currency)} {line.quote.tax_rule.basis}",
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
    typed = StringField("Their name, typed by themselves", [Optional(), Length(max=120)])
    witness = StringField("Witness, if they refused to sign", [Optional(), Length(max=120)])

    def paper(self) -> Acknowledgement:
        return Acknowledgement(self.hazard.data, self.advice.data, self.made_safe.data, self.how.data, self.signer_name.data,
                               self.signature.data or "", self.witness.data or "", self.tag.data or "",
                               (self.typed.data or "").strip())
