"""The sheets of the return. Each is saved on its own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import BooleanField, HiddenField, RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length, Optional

from app.errors import BadInput
from app.handover.models import AccessoryReturn
from app.handover.rules import (
    OFFERED,
    Acknowledged,
    Collector,
    Fate,
    HowSigned,
    Measure,
    OldPartsFate,
    Reason,
    Recipient,
    Sent,
    named_parts,
    parted,
)
from app.handover.service.going_out import Signed
from app.handover.service.uncollected import Letter
from app.handover.service.unrepaired import Acknowledging, Leaving
from app.intake.models import Accessory
from app.kernel.form_fields import DayField, House, MoneyField, Needed, blank, options
from app.kernel.numbers import IntegerField
from app.money.rules import Method
from app.shop.queries import the_shop
from app.shop.wording import swap


def accessories_form(things: Sequence[tuple[Accessory, AccessoryReturn | None]]) -> type[House]:
    """A form with a count and a note for each accessory that came in."""
    pack = the_shop().wording
    fields: dict[str, Any] = {}
    for one, back in things:
        word = swap(one.what, pack)
        fields[f"given_{one.id}"] = IntegerField(
            f"{word}: how many of {one.quantity} go back", [InputRequired(f"Count the {word} that goes back.")],
            default=back.given if back else None)
        fields[f"note_{one.id}"] = StringField(f"{word}: if not all, why", [Optional(), Length(max=400)],
                                               default=back.note if back else "")
    return type("AccessoriesBack", (House,), fields)


class OldPartsForm(House):
    """What became of the old parts."""

    fate = RadioField("The old parts were", coerce=OldPartsFate, choices=options((f.value, f.value) for f in OldPartsFate))
    parts = SelectMultipleField("Marked for the customer when they came out")
    which = TextAreaField("Which parts", [Optional(), Length(max=2000)])

    def offer(self, listed: Sequence[str], named: str | None = None) -> None:
        """What the removal ledger lists, to be ticked; and, of what was kept before, what was ticked and what was written."""
        pack = the_shop().wording
        self.parts.choices = options((one, swap(one, pack)) for one in listed)
        if listed:
            self.which.label.text = "Other parts"
        if named is not None:
            self.parts.data, self.which.data = parted(listed, named)

    def named(self) -> str:
        """All the parts, in a line, or why none came out; BadInput where parts are ticked and none came out."""
        if self.parts.data and self.fate.data is OldPartsFate.NONE:
            raise BadInput("Parts are named: choose what became of them, or take the ticks away.", "fate")
        return named_parts(self.parts.data or (), self.which.data or "")


class SumsForm(House):
    """What is due and how it is settled. What was paid, and how, is entered by whoever took it: nothing stands there before."""

    due_minor = MoneyField("Due, tax included", [Needed("Enter what is due, 0 for nothing.")])
    because = StringField("If that is another sum: what makes the difference", [Optional(), Length(max=200)])
    paid_minor = MoneyField("Paid now", [Needed("Enter what was paid, 0 for nothing.")])
    method = RadioField("How", [Needed("Choose how it was paid, or that nothing was.")], coerce=blank(Method),
                        choices=options((m.value, m.value) for m in Method))
    on_account = StringField("If not all is paid: why, and until when", [Optional(), Length(max=400)])


class ShownForm(House):
    """Whether it was shown working."""

    shown = RadioField("The amp was", choices=options((("yes", "shown working"), ("no", "not shown: they did not want it"))))
    said = TextAreaField("What was said about its use", [Optional(), Length(max=2000)])


class SignForm(House):
    """Who takes it, and the signature; or that a paper was signed."""

    name = StringField("Who takes it", [Needed("Enter the name of whoever takes it."), Length(max=120)])
    who = RadioField("Relationship to owner", coerce=Collector, default=Collector.DEPOSITOR,
                     choices=options((c.value, c.word) for c in Collector))
    known_by = StringField("Proof of authority to collect", [Optional(), Length(max=400)])
    signature = StringField("Signature", [Length(max=90_000)])
    typed = StringField("Or their name, typed by themselves", [Optional(), Length(max=120)])
    on_paper = BooleanField("Signed on paper instead; the shop keeps the paper")
    facts_sha256 = HiddenField()

    def signed(self) -> Signed:
        typed = (self.typed.data or "").strip()
        how = (HowSigned.PAPER if self.on_paper.data else HowSigned.TYPED if typed and not self.signature.data
               else HowSigned.SCREEN)
        return Signed(self.name.data or "", self.who.data, how, self.signature.data or "", self.known_by.data or "", typed)


class UnrepairedForm(House):
    """Why it leaves unrepaired."""

    reason = RadioField("It leaves unrepaired because", coerce=Reason, choices=options((r.value, r.word) for r in Reason))
    danger = TextAreaField("What is wrong with it, and what could happen", [
        Needed("Enter in plain words what is wrong with it and what could happen."), Length(max=2000)])
    measures = SelectMultipleField("What was done")
    works = StringField("If it may still be switched on: why, and how", [Optional(), Length(max=400)])
    advice = TextAreaField("Advice", [Optional(), Length(max=2000)])
    tag = StringField("Number of the tag", [Optional(), Length(max=60)])

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pack = the_shop().wording
        self.measures.choices = options((one.value, swap(one.value, pack)) for one in OFFERED)

    def leaving(self) -> Leaving:
        return Leaving(self.reason.data, self.danger.data or "", tuple(Measure(one) for one in self.measures.data or ()),
                       self.advice.data or "", self.works.data or "", self.tag.data or "")


class AcknowledgeForm(House):
    """The warning, signed or refused."""

    name = StringField("Who takes it", [Needed("Enter the name of whoever takes it."), Length(max=120)])
    how = RadioField("The warning was", coerce=Acknowledged, default=Acknowledged.SCREEN,
                     choices=options((a.value, a.value) for a in Acknowledged))
    signature = StringField("Signature", [Length(max=90_000)])
    typed = StringField("Their name, typed by themselves", [Optional(), Length(max=120)])
    witness = StringField("Who witnessed a refusal", [Optional(), Length(max=120)])
    facts_sha256 = HiddenField()

    def given(self) -> Acknowledging:
        return Acknowledging(self.name.data or "", self.how.data, self.signature.data or "", self.witness.data or "",
                             (self.typed.data or "").strip())


class NoticeForm(House):
    """A letter that went out."""

    addressed_to = StringField("To", [Needed("Enter to whom it went."), Length(max=200)])
    address = StringField("Address or number it went to", [Needed("Enter the address or number it went to."), Length(max=400)])
    recipient = RadioField("It is for", coerce=Recipient, default=Recipient.DEPOSITOR,
                           choices=options((r.value, r.value) for r in Recipient))
    sent_on = DayField("Sent on", [Needed("Enter the day it was sent.")])
    given_on = DayField("Counts as given on", [Needed("Enter the day on which it counts as given.")])
    unreachable = BooleanField("Nobody can be reached, after reasonable attempts in writing")
    worth_minor = MoneyField("Price of a thing of the same age and state", [Optional()])
    worth_from = StringField("How that price was found", [Optional(), Length(max=400)])
    how = RadioField("Sent by", coerce=Sent, default=Sent.RECORDED, choices=options((s.value, s.value) for s in Sent))
    proof = StringField("Proof of sending", [Optional(), Length(max=400)])
    ready_since = DayField("The amp is ready since", [Needed("Enter the day since which it is ready.")])
    hours = StringField("Where and when it can be collected", [Needed("Enter where and when the amp can be collected."),
                                                               Length(max=400)])
    due_minor = MoneyField("What is due", [Needed("Enter what is due, 0 for nothing.")])
    due_for = StringField("What for, line by line", [Optional(), Length(max=1000)])

    def letter(self) -> Letter:
        return Letter(self.addressed_to.data or "", self.address.data or "", self.sent_on.data, self.how.data,
                      self.ready_since.data, self.hours.data or "", int(self.due_minor.data or 0), self.due_for.data or "",
                      self.proof.data or "", self.given_on.data, self.recipient.data, self.worth_minor.data,
                      self.worth_from.data or "", bool(self.unreachable.data))


class DisposalForm(House):
    """What a person decided about an uncollected amp."""

    fate = RadioField("The amp was", coerce=Fate, choices=options((f.value, f.value) for f in Fate))
    account = TextAreaField("Account", [Needed("Enter what became of it: to whom, how it was valued, the price, what was kept "
                                               "and paid to whom."), Length(max=4000)])
    law_checked = StringField("Who checked the law, against what, and when", [
        Needed("Enter who checked the law, against what, and when."), Length(max=400)])
    kept_until = DayField("This record is kept until", [Needed("Enter until when the record is kept.")])

    def offer(self, allowed: Sequence[Fate]) -> None:
        """Only what the rule of the last notice allows."""
        self.fate.choices = options((f.value, f.value) for f in allowed)


class ReasonForm(House):
    """A reason."""

    reason = TextAreaField("Reason", [Needed("Enter why."), Length(max=1000)])


class ComeBackForm(House):
    """The amp is in again."""

    complaint = TextAreaField("What the customer says, word for word", [
        Needed("Enter what the customer says is wrong, in their own words."), Length(max=4000)])
    warranty = RadioField("Under warranty", default="open", choices=options((
        ("yes", "yes, the shop pays"), ("open", "to be judged at the bench"))))  # that the customer pays, a verdict alone says

    @property
    def under_warranty(self) -> bool | None:
        return True if self.warranty.data == "yes" else None
