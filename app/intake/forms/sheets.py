"""The sheets of an order at the counter. Each is saved on its own."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from wtforms import (
    BooleanField,
    Field,
    HiddenField,
    MultipleFileField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import Length, NumberRange, Optional, ValidationError

from app.errors import BadInput
from app.intake.models import Complaint, FirstLook
from app.intake.rules import Danger, Looked, Zone
from app.intake.service.checking_in import ComplaintFacts
from app.intake.service.sheets import Offer
from app.kernel.form_fields import DayField, House, MoneyField, Needed, options
from app.kernel.local_forms import counted
from app.kernel.numbers import IntegerField
from app.orders.models import Channel
from app.records.models import Customer
from app.shop.queries import the_shop
from app.shop.wording import swap

NONE = "none"
NOTICED = (("smell", "a smell"), ("smoke", "smoke"), ("fuse", "a blown fuse"), (NONE, "none of these"))
OTHERS = range(1, 5)
COUNTED = "Count from 0 to 99."
SHOT = "photo_of_"


def _not_with_others(form: House, field: Field) -> None:
    if NONE in (field.data or ()) and len(field.data) > 1:
        raise ValidationError("Choose what was seen, or that there was nothing: not both.")


class ComplaintForm(House):
    """The customer's own words and what goes with them."""

    words = TextAreaField("What the customer says, word for word", [Length(max=4000)])
    connected = StringField("What was connected", [Optional(), Length(max=400)])
    how_long_on = StringField("How long it had been on", [Optional(), Length(max=200)])
    noticed = SelectMultipleField("Noticed", [Optional(), _not_with_others], choices=options(NOTICED))
    last_right = StringField("Last worked properly", [Optional(), Length(max=200)])
    worked_on_by = StringField("Who worked on it last", [Optional(), Length(max=200)])
    keep = TextAreaField("What must be kept", [Optional(), Length(max=2000)])
    leave_alone = TextAreaField("What must not be changed", [Optional(), Length(max=2000)])

    def show(self, kept: Complaint) -> None:
        """Tick what was answered before."""
        answers = {"smell": kept.smell, "smoke": kept.smoke, "fuse": kept.fuse}
        said = [name for name, answer in answers.items() if answer]
        self.noticed.data = said or ([NONE] if False in answers.values() else [])

    def facts(self) -> ComplaintFacts:
        """Smell, smoke and fuse are not asked where nothing at all was ticked."""
        said = self.noticed.data or []

        def noticed(what: str) -> bool | None:
            return what in said if said else None

        return ComplaintFacts(self.words.data or "", self.connected.data or "", self.how_long_on.data or "",
                              self.last_right.data or "", self.worked_on_by.data or "", noticed("smell"),
                              noticed("smoke"), noticed("fuse"), self.keep.data or "", self.leave_alone.data or "")


class ConditionForm(House):
    """Photos of any zone, each by a button of its own; and of one zone a note, more photos, or both."""

    zone = RadioField("Zone", coerce=Zone, choices=options((z.value, z.value) for z in Zone), default=Zone.FRONT)
    note = TextAreaField("How it looks", [Optional(), Length(max=2000)])
    photos = MultipleFileField("Photos")

    def offer(self, shown: Mapping[Zone, int]) -> None:
        """The zones, each with how many photos there are of it."""
        pack = the_shop().wording
        words = {z: f"{swap(z.value, pack)}: {counted(shown[z], 'photo')}" if z in shown else swap(z.value, pack) for z in Zone}
        self.zone.choices = options((z.value, words[z]) for z in Zone)

    def field_of(self, zone: Zone) -> Field:
        """The file field of a zone."""
        return self[shot_of(zone)]


def shot_of(zone: Zone) -> str:
    """The name of the field in which a zone's own photos come."""
    return f"photos_{zone.name.lower()}"


for _zone in Zone:
    setattr(ConditionForm, shot_of(_zone), MultipleFileField(_zone.value))


class AccessoriesForm(House):
    """How many of each came with it. `accessories_form` adds count and photos of each on the shop's list; four lines are free."""

    nothing = BooleanField("Nothing came with it")
    other_1 = StringField("Something else", [Optional(), Length(max=80)])
    count_1 = IntegerField("How many of it", [Optional(), NumberRange(0, 99, COUNTED)])
    other_2 = StringField("And something else", [Optional(), Length(max=80)])
    count_2 = IntegerField("How many of that", [Optional(), NumberRange(0, 99, COUNTED)])
    other_3 = StringField("A third thing", [Optional(), Length(max=80)])
    count_3 = IntegerField("How many of the third", [Optional(), NumberRange(0, 99, COUNTED)])
    other_4 = StringField("A fourth thing", [Optional(), Length(max=80)])
    count_4 = IntegerField("How many of the fourth", [Optional(), NumberRange(0, 99, COUNTED)])

    listed: Mapping[str, str] = {}  # the shop's list: name of the field → what it counts

    def show(self, stored: Mapping[str, int], *, counted_before: bool) -> None:
        """Fill in what was counted before."""
        for name, what in self.listed.items():
            self[name].data = stored.get(what, 0)
        self.nothing.data = counted_before and not any(stored.values())
        others = [(what, number) for what, number in stored.items() if what not in self.listed.values()]
        for place, (what, number) in zip(OTHERS, others, strict=False):
            self[f"other_{place}"].data, self[f"count_{place}"].data = what, number

    def counted(self) -> dict[str, int]:
        """Every named thing with its number; a thing without a number counts once. BadInput unless one of both is said."""
        found = {what: int(self[name].data or 0) for name, what in self.listed.items()}
        for place in OTHERS:
            what, number = (self[f"other_{place}"].data or "").strip(), self[f"count_{place}"].data
            if what:
                found[what] = found.get(what, 0) + (1 if number is None else int(number))
        if self.nothing.data and any(found.values()):
            raise BadInput("Something is counted: take the tick off “nothing came with it”, or set the counts to 0.", "nothing")
        if not self.nothing.data and not any(found.values()):
            raise BadInput("Count what came with it, or tick “nothing came with it”.", "nothing")
        return found

    def shots(self) -> dict[str, str]:
        """The file field of each listed accessory → what it shows."""
        return {f"{SHOT}{name}": what for name, what in self.listed.items()}


def accessories_form(listed: Sequence[str]) -> type[AccessoriesForm]:
    """The form for a shop's own list of accessories."""
    names: dict[str, str] = {}
    for what in listed:
        name = re.sub(r"\W+", "_", what.casefold()).strip("_") or "thing"
        while name in names or hasattr(AccessoriesForm, name):
            name += "_"
        names[name] = what
    fields: dict[str, Any] = {"listed": names}
    for name, what in names.items():
        label = what[:1].upper() + what[1:]
        fields[name] = IntegerField(label, [NumberRange(0, 99, COUNTED)], default=0)
        fields[f"{SHOT}{name}"] = MultipleFileField(label)
    return type("ShopAccessoriesForm", (AccessoriesForm,), fields)


class LookForm(House):
    """What a look from outside shows, and whether the amp was switched on at the counter."""

    dangers = SelectMultipleField("What is seen, smelt or heard", [_not_with_others])
    other = StringField("Another danger", [Optional(), Length(max=400)])
    mains_joined = RadioField("Does either mains pin join the chassis or the signal earth? By ohmmeter", default="open",
                              choices=options((("no", "no"), ("yes", "yes"), ("open", "not measured"))))
    energised = RadioField("Switched on at the counter?", choices=options((("no", "no"), ("yes", "yes"))), default="no")
    energised_why = StringField("Why, and what happened", [Optional(), Length(max=400)])

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pack = the_shop().wording
        seen = [(one.value, swap(one.value, pack)) for one in Danger]
        self.dangers.choices = options([*seen, (NONE, "none of these")])

    def validate_dangers(self, field: Field) -> None:
        if not field.data and not (self.other.data or "").strip() and self.mains_joined.data != "yes":
            raise ValidationError("Tick what is seen, or “none of these”.")
        if NONE in (field.data or ()) and (self.other.data or "").strip():
            raise ValidationError("Another danger is written below: take the tick off “none of these”.")

    def show(self, kept: FirstLook) -> None:
        """Tick what was seen before."""
        self.dangers.data = kept.dangers or ([] if kept.other or kept.mains_joined else [NONE])
        self.mains_joined.data = "open" if kept.mains_joined is None else "yes" if kept.mains_joined else "no"
        self.energised.data = "yes" if kept.energised else "no"

    def seen(self) -> Looked:
        dangers = tuple(Danger(one) for one in self.dangers.data or () if one != NONE)
        return Looked(dangers, self.other.data or "", {"yes": True, "no": False}.get(self.mains_joined.data),
                      self.energised.data == "yes", self.energised_why.data or "")


class OfferForm(House):
    """Fee, ceiling and declared value."""

    fee_minor = MoneyField("Diagnosis fee", [Needed("Enter the fee, 0 for none.")])
    fee_credited = BooleanField("It counts towards the repair if the repair goes ahead", default=True)
    ceiling_minor = MoneyField("Diagnosis cost limit", [Needed("Enter the most that the diagnosis may cost.")])
    declared_value_minor = MoneyField("Value declared by the customer", [Optional()])

    def offer(self) -> Offer:
        fee, ceiling = self.fee_minor.data or 0, self.ceiling_minor.data or 0
        return Offer(int(fee), bool(self.fee_credited.data), int(ceiling), self.declared_value_minor.data)


class AgreeForm(House):
    """How the person who may approve cost agreed, when they were not there to sign."""

    channel = RadioField("How they agreed", [Needed("Choose how they agreed.")], coerce=Channel,
                         choices=options((c.value, c.value) for c in Channel if c is not Channel.SIGNATURE))
    reached_at = StringField("Number called or address written to", [Optional(), Length(max=120)])


class TermsForm(House):
    """Who signs, and the signature; or that a paper was signed."""

    why = StringField("Why it is signed again", [Length(max=400)])
    signer_id = SelectField("Who signs", coerce=int)
    signature = StringField("Signature", [Length(max=90_000)])
    typed = StringField("Or their name, typed by themselves", [Optional(), Length(max=120)])
    on_paper = BooleanField("Signed on paper instead; the shop keeps the paper")
    text_sha256 = HiddenField()

    def offer(self, people: list[Customer]) -> None:
        """The people of the order."""
        self.signer_id.choices = options((one.id, one.name) for one in people)


class PlaceForm(House):
    """Where it stands and when the customer hears next."""

    shelf = StringField("Shelf", [Optional(), Length(max=40)])
    promised_on = DayField("Contact customer by", [Optional()])


class ReasonForm(House):
    """A reason."""

    reason = TextAreaField("Reason", [Length(max=1000)])
