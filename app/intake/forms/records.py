"""People and amps, and the check-in that finds or makes both."""

from __future__ import annotations

from wtforms import EmailField, RadioField, SelectField, StringField, TelField, TextAreaField
from wtforms.validators import Length, Optional

from app.intake.service.records import AmpFacts, CustomerFacts
from app.kernel.form_fields import House, options
from app.orders.models import RepairOrder
from app.records.models import Customer, ProtectionClass

CLASSES = options([(ProtectionClass.I.value, "class I, with earth"),
                   (ProtectionClass.II.value, "class II, double insulated"),
                   (ProtectionClass.UNKNOWN.value, "not known yet")])


class CustomerForm(House):
    """Name and ways to reach them."""

    name = StringField("Name", [Length(max=120)])
    phone = TelField("Phone", [Optional(), Length(max=60)])
    email = EmailField("E-mail", [Optional(), Length(max=120)])
    address = TextAreaField("Address", [Optional(), Length(max=400)])
    note = TextAreaField("Note for the shop", [Optional(), Length(max=1000)])

    def facts(self) -> CustomerFacts:
        return CustomerFacts(self.name.data or "", self.phone.data or "", self.email.data or "",
                             self.address.data or "", self.note.data or "")


class AmpForm(House):
    """The amp as it is marked."""

    maker = StringField("Maker, as marked", [Length(max=120)])
    model = StringField("Model, as marked", [Length(max=120)])
    serial = StringField("Serial number", [Length(max=120)])
    mains_marking = StringField("Mains marking", [Length(max=200)])
    protection_class = RadioField("Protection class", choices=CLASSES, coerce=ProtectionClass,
                                  default=ProtectionClass.UNKNOWN)
    valves = StringField("Valves in it", [Optional(), Length(max=400)])
    covering = StringField("Covering and colour", [Optional(), Length(max=200)])
    marks = TextAreaField("Identifying marks", [Optional(), Length(max=1000)])

    def amp_facts(self) -> AmpFacts:
        return AmpFacts(self.maker.data or "", self.model.data or "", self.serial.data or "",
                        self.mains_marking.data or "", self.protection_class.data or ProtectionClass.UNKNOWN,
                        self.valves.data or "", self.covering.data or "", self.marks.data or "")


class CheckInForm(CustomerForm):
    """One page: who (if new), which amp (if new), the complaint, and the repair it comes back after."""

    maker = StringField("Maker, as marked", [Length(max=120)])
    model = StringField("Model, as marked", [Length(max=120)])
    serial = StringField("Serial number", [Optional(), Length(max=120)])
    complaint = TextAreaField("What the customer says, word for word", [Length(max=4000)])
    come_back_of = RadioField("Is it in for the same fault again?", coerce=int, default=0)

    def offer_repairs(self, earlier: list[RepairOrder]) -> None:
        """The ended repairs of this amp, after which it may come back."""
        ended = [one for one in earlier if not one.is_open]
        self.come_back_of.choices = options(
            [(0, "No, something else"), *((one.id, f"Yes, after repair {one.number}") for one in ended[:5])])

    def amp_facts(self) -> AmpFacts:
        return AmpFacts(self.maker.data or "", self.model.data or "", self.serial.data or "")


class PeopleForm(House):
    """Who left it, who owns it, who may approve cost."""

    depositor_id = SelectField("Left by", coerce=int)
    owner_id = SelectField("Owner", coerce=int)
    authority_id = SelectField("May approve cost", coerce=int)

    def offer(self, known: list[Customer]) -> None:
        """The people to choose from."""
        choices = options((one.id, f"{one.name}, {one.reach}") for one in known)
        for field in (self.depositor_id, self.owner_id, self.authority_id):
            field.choices = choices
