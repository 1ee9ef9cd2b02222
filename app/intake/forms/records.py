"""People and amps, and the check-in that finds or makes both."""

from __future__ import annotations

from wtforms import RadioField, SelectField, TextAreaField
from wtforms.validators import Length

from app.kernel.form_fields import House, options
from app.kernel.spec_forms import asks, read_facts
from app.orders.models import RepairOrder
from app.records.models import Customer
from app.records.spec import AmpFacts, CustomerFacts


@asks(CustomerFacts)
class CustomerForm(House):
    """Name and ways to reach them."""

    def facts(self) -> CustomerFacts:
        return read_facts(self, CustomerFacts)


@asks(AmpFacts)
class AmpForm(House):
    """The amp as it is marked."""

    def amp_facts(self) -> AmpFacts:
        return read_facts(self, AmpFacts)


@asks(AmpFacts, only=("maker", "model", "serial"), may_stay_empty=("serial",))
class CheckInForm(CustomerForm):
    """One page: who (if new), which amp (if new), the complaint, and the repair it comes back after."""

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
