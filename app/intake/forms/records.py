"""People and amps, and the check-in that finds or makes both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from wtforms import BooleanField, EmailField, Field, RadioField, SelectField, StringField, TelField, TextAreaField
from wtforms.validators import Length, Optional, StopValidation, ValidationError

from app.kernel.form_fields import House, blank, options
from app.kernel.spec_forms import asks, read_facts
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.records.contact import odd_number, why_not_a_phone, why_not_an_email
from app.records.models import Customer
from app.records.spec import AmpFacts, CustomerFacts
from app.shop.queries import country

SAME, OWNER, WRITTEN = "same", "owner", "new"
LATELY = timedelta(days=730)  # as long as a warranty may well run


def phone_can_be_one(form: House, field: Field) -> None:
    """Refuse what cannot be a phone number here. A number that stands in the record already is not asked about."""
    typed = field.data or ""
    if typed.strip() == (field.object_data or ""):
        return
    if why := why_not_a_phone(typed, country()) or ("" if form.odd_number.data else odd_number(typed, country())):
        raise ValidationError(why)


def email_can_be_one(form: House, field: Field) -> None:
    """Refuse what cannot be an e-mail address, unless it stands in the record already."""
    if (field.data or "").strip() != (field.object_data or "") and (why := why_not_an_email(field.data or "")):
        raise ValidationError(why)


@asks(CustomerFacts)
class CustomerForm(House):
    """Name and ways to reach them."""

    odd_number = BooleanField("The number is right as it stands")
    feeds = {"odd_number": "phone"}

    @property
    def asks_about_number(self) -> bool:
        """Whether a number was asked back: the tick that it is right stands on the page from then on."""
        phones = [field for field in self if field.type == "TelField"]
        return bool(self.odd_number.data) or any("tick that it is right" in str(error) for one in phones for error in one.errors)

    def facts(self) -> CustomerFacts:
        return read_facts(self, CustomerFacts)

    def validate_phone(self, field: Field) -> None:
        phone_can_be_one(self, field)

    def validate_email(self, field: Field) -> None:
        email_can_be_one(self, field)


@asks(AmpFacts)
class AmpForm(House):
    """The amp as it is marked."""

    def amp_facts(self) -> AmpFacts:
        return read_facts(self, AmpFacts)


@asks(AmpFacts, only=("maker", "model", "serial"), may_stay_empty=("serial",))
class CheckInForm(CustomerForm):
    """One page: who (if new), which amp (if new), the complaint, and the repair it comes back after."""

    complaint = TextAreaField("What the customer says, word for word", [Length(max=4000)])
    come_back_of = RadioField("Is it in for the same fault again?", coerce=blank(int), default=0)
    also_reached = StringField("Also reached at", [Optional(), Length(max=200)])
    owner_is = SelectField("Owner", default=SAME)
    owner_name = StringField("Owner’s name", [Optional(), Length(max=120)])
    owner_phone = TelField("Owner’s phone", [Optional(), Length(max=60), phone_can_be_one])
    owner_email = EmailField("Owner’s e-mail", [Optional(), Length(max=120), email_can_be_one])
    approver_is = SelectField("May approve cost", default=SAME)
    approver_name = StringField("Name of who approves", [Optional(), Length(max=120)])
    approver_phone = TelField("Their phone", [Optional(), Length(max=60), phone_can_be_one])
    approver_email = EmailField("Their e-mail", [Optional(), Length(max=120), email_can_be_one])
    as_new = BooleanField("None of these: add what is written here as new")
    must_say = False

    def validate_come_back_of(self, field: Field) -> None:
        if field.data is None:
            field.errors = []  # that nothing is no choice of the list
            raise StopValidation("Choose whether it is in for the same fault again: it was repaired here, and who pays hangs "
                                 "on it.")

    def offer_repairs(self, earlier: list[RepairOrder], now: datetime) -> None:
        """The ended repairs of this amp, after which it may come back.

        After one that was repaired lately nothing is chosen beforehand: who pays hangs on the answer.
        """
        ended = [one for one in earlier if one.ended_as not in (None, End.VOID)]
        self.must_say = any(one.ended_as is End.REPAIRED and one.ended_at and now - one.ended_at < LATELY for one in ended)
        if self.must_say and not self.come_back_of.raw_data:
            self.come_back_of.data = None
        self.come_back_of.choices = options(
            [(0, "No, something else"), *((one.id, f"Yes, after repair {one.number}") for one in ended[:5])])

    def offer_people(self, known: Iterable[Customer]) -> None:
        """Whom owner and approver may be: who leaves it, whom the shop knows with this amp, or somebody written here."""
        people = [(f"c{one.id}", f"{one.name}, {one.reach}") for one in known]
        new = (WRITTEN, "someone else, written below")
        self.owner_is.choices = options([(SAME, "the person who leaves it"), *people, new])
        self.approver_is.choices = options([(SAME, "the person who leaves it"), (OWNER, "the owner"), *people, new])

    def of(self, role: str) -> str:
        """Who has this role ('owner', 'approver'): a choice, or somebody written here as soon as a name is."""
        chosen, name = self[f"{role}_is"].data or SAME, self[f"{role}_name"].data or ""
        return WRITTEN if name.strip() and chosen in (SAME, OWNER) else str(chosen)

    def written(self, role: str) -> CustomerFacts:
        """Who was written down for this role."""
        return CustomerFacts(*(self[f"{role}_{name}"].data or "" for name in ("name", "phone", "email")))

    @property
    def others(self) -> bool:
        """Whether anybody but who leaves it is named, or something is wrong there: the part of the page stays open."""
        parts = [self[f"{role}_{name}"] for role in ("owner", "approver") for name in ("name", "phone", "email")]
        return any(self.of(role) != SAME for role in ("owner", "approver")) or any(one.data or one.errors for one in parts)

    def amp_facts(self) -> AmpFacts:
        return AmpFacts(self.maker.data or "", self.model.data or "", self.serial.data or "")


class PeopleForm(CustomerForm):
    """Who left it, who owns it, who may approve cost; and somebody who is not known yet, written on the same page."""

    depositor_id = SelectField("Left by", coerce=int)
    owner_id = SelectField("Owner", coerce=int)
    authority_id = SelectField("May approve cost", coerce=int)
    find = StringField("Name, phone or e-mail", [Optional(), Length(max=200)])
    as_new = BooleanField("None of these: add what is written here as new")

    @property
    def roles(self) -> tuple[SelectField, ...]:
        return self.depositor_id, self.owner_id, self.authority_id

    def offer(self, known: Sequence[Customer]) -> None:
        """The people to choose from."""
        choices = options((one.id, f"{one.name}, {one.reach}") for one in known)
        for field in self.roles:
            field.choices = choices
