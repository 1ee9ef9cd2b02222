"""Forms of the parts."""

from __future__ import annotations

from collections.abc import Iterable

from wtforms import RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import DayField, House, MoneyField, Needed, QuantityField, options
from app.kernel.numbers import IntegerField
from app.parts.rules import Arrival, Incoming, Need, PartKind, Rating
from app.parts.service import Purchase
from app.quote.models import QuoteLine
from app.quote.rules.words import PartCondition
from app.shop.queries import the_shop
from app.shop.wording import swap

ANY = "any"


class NeedForm(House):
    """What is needed, for where, and what its place asks of it."""

    line_root_id = SelectField("For which line of the quote", coerce=int, default=0)
    what = StringField("Part: type and value", [Needed("Name the part: type and value."), Length(max=200)])
    kind = RadioField("Sort of part", [Needed("Choose what sort of part it is.")], coerce=PartKind)
    quantity = IntegerField("How many", [Needed("Enter how many, 1 or more."), NumberRange(1, 999, "Enter from 1 to 999.")],
                            default=1)
    place = StringField("Place", [Needed("Enter where it goes: C14, V3, mains inlet."), Length(max=120)])
    needed_volts = QuantityField("Worst-case voltage", [Optional()], unit="V")
    needed_watts = QuantityField("Worst-case power", [Optional()], unit="W")
    rating_source = StringField("Where that comes from", [Optional(), Length(max=200)])
    needed_condition = RadioField("It must be", default=ANY,
                                  choices=options([(ANY, "in any condition"),
                                                   *((one.value, one.value) for one in PartCondition)]))

    def offer(self, lines: Iterable[QuoteLine]) -> None:
        """The lines of the quote, and the sorts of part in the shop's words."""
        self.kind.choices = options((one, swap(one.value, the_shop().wording)) for one in PartKind)
        self.line_root_id.choices = options([(0, "none: it is needed all the same"),
                                             *((line.line_root_id, line.what[:80]) for line in lines)])

    def need(self) -> Need:
        wanted = self.needed_condition.data
        return Need(self.what.data, self.kind.data, self.quantity.data, self.place.data,
                    Rating(self.needed_volts.data, self.needed_watts.data), self.rating_source.data or "",
                    None if wanted == ANY else PartCondition(wanted))


class OrderForm(House):
    """Where it is ordered, for how much, and when it should come."""

    supplier = StringField("Supplier", [Needed("Enter where it is ordered."), Length(max=120)])
    ordered_minor = MoneyField("Charged to the customer for all, before tax", [Needed("Enter the price, 0 for none.")])
    expected_on = DayField("Expected on", [Optional()])

    def purchase(self) -> Purchase:
        return Purchase(self.supplier.data, self.ordered_minor.data or 0, self.expected_on.data)


class ReceiveForm(House):
    """What came, what is marked on it, and how its test went."""

    condition = RadioField("It is", [Needed("Choose whether it is new, used, refurbished or the customer’s own.")],
                           coerce=PartCondition, choices=options((one, one.value) for one in PartCondition))
    rated_volts = QuantityField("Volts marked on it", [Optional()], unit="V")
    rated_watts = QuantityField("Watts marked on it", [Optional()], unit="W")
    batch = StringField("Batch or date code", [Optional(), Length(max=80)])
    test = RadioField("Incoming test", [Needed("Choose how the incoming test went.")], coerce=Incoming,
                      choices=options((one, one.word) for one in Incoming))
    test_words = StringField("What it showed", [Optional(), Length(max=300)])
    charged_minor = MoneyField("Charged to the customer for all, before tax", [Needed("Enter the price, 0 for none.")])

    def arrival(self) -> Arrival:
        return Arrival(self.condition.data, Rating(self.rated_volts.data, self.rated_watts.data), self.batch.data or "",
                       self.test.data, self.test_words.data or "", self.charged_minor.data or 0)


class FitForm(House):
    """Where it was fitted."""

    fitted_place = StringField("Fitted at", [Needed("Enter where it was fitted."), Length(max=120)])


class DropForm(House):
    """Why it is dropped."""

    reason = TextAreaField("Why, and how the work is planned now",
                           [Needed("Enter why it is dropped, and how the work is planned now."), Length(max=400)])
