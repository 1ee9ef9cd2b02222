"""Forms of the parts."""

from __future__ import annotations

from collections.abc import Iterable

from wtforms import RadioField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.electrics.errors import ElectricsError
from app.electrics.notation import parse
from app.errors import BadInput
from app.kept.models import SumUse
from app.kept.rules import say_figure
from app.kernel.form_fields import DayField, House, MoneyField, Needed, NotationField, QuantityField, options
from app.kernel.spec_forms import asks, read_facts
from app.parts.rules import Arrival, CalledFor, Dropped, Incoming, Need, PlaceAsks, RatedAgain, Rating, Settle
from app.parts.service import Purchase
from app.quote.models import QuoteLine
from app.quote.rules.words import PartCondition


@asks(PlaceAsks)
@asks(Need)
@asks(CalledFor)
class NeedForm(House):
    """What is needed, for where, and what its place asks of it."""

    def offer(self, lines: Iterable[QuoteLine]) -> None:
        """The lines of the quote."""
        self.line_root_id.choices = options([(0, "none: it is needed all the same"),
                                             *((line.line_root_id, line.what[:80]) for line in lines)])

    def need(self) -> Need:
        place = read_facts(self, PlaceAsks)
        return read_facts(self, Need, rating=Rating(place.needed_volts, place.needed_watts, place.needed_reverse_volts,
                                                        place.needed_ripple_volts), condition=place.needed_condition)


class OrderForm(House):
    """Where it is ordered, for how much, and when it should come."""

    supplier = StringField("Supplier", [Needed("Enter where it is ordered."), Length(max=120)])
    ordered_minor = MoneyField("Charged to the customer for all", [Needed("Enter the price, 0 for none.")])
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
    charged_minor = MoneyField("Charged to the customer for all", [Needed("Enter the price, 0 for none.")])
    kept = RadioField("It is", default="kept", choices=options((("kept", "kept"), ("sent back", "sent back"))))
    sent_back_reason = StringField("If it is sent back: why", [Optional(), Length(max=400)])

    def arrival(self) -> Arrival:
        return Arrival(self.condition.data, Rating(self.rated_volts.data, self.rated_watts.data), self.batch.data or "",
                       self.test.data, self.test_words.data or "", self.charged_minor.data or 0)


class FitForm(House):
    """Where it was fitted."""

    fitted_place = StringField("Fitted at", [Needed("Enter where it was fitted."), Length(max=120)])


class RatingForm(House):
    """What becomes of a rating whose calculation was changed or withdrawn."""

    how = RadioField("What its place asks", [Needed("Choose what its place asks.")], coerce=Settle)
    value = NotationField("The other figure", [Optional(), Length(max=40)])
    reason = TextAreaField("Why, if the new figure is not taken", [Optional(), Length(max=120)])

    def offer(self, use: SumUse) -> None:
        """The figure as it is calculated now, where one stands; else what is there, or another."""
        now, was = use.figure_now, say_figure(use.value, use.unit)
        taken = [(Settle.TAKE, f"{now.shown}, as it is calculated now")] if now else []
        self.how.choices = options([*taken, (Settle.KEEP, f"{was}, as before"), (Settle.OTHER, "another figure")])

    def decided(self, unit: str) -> RatedAgain:
        try:
            value = parse(self.value.data, unit=unit) if self.how.data is Settle.OTHER and self.value.data else None
        except ElectricsError as wrong:
            raise BadInput(str(wrong), "value") from wrong
        return RatedAgain(self.how.data, value, self.reason.data or "")


class DropForm(House):
    """What happened to it, and why."""

    how = RadioField("What happened", [Needed("Choose what happened to it.")], coerce=Dropped)
    reason = TextAreaField("Why; and if it is not needed, how the work is planned now", [Needed("Enter why."), Length(max=400)])

    def offer(self, kinds: Iterable[Dropped]) -> None:
        """What can have happened to this part."""
        self.how.choices = options((one, one.value) for one in kinds)
