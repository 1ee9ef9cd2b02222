"""The shop's settings, as the owner sets them."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from zoneinfo import available_timezones

from wtforms import (
    BooleanField,
    EmailField,
    Field,
    HiddenField,
    PasswordField,
    RadioField,
    SelectField,
    StringField,
    TelField,
    TextAreaField,
)
from wtforms.validators import Length, NumberRange, Optional, Regexp, ValidationError

from app.kernel.form_fields import House, MoneyField, Needed, QuantityField, options
from app.kernel.money import show
from app.kernel.numbers import DecimalField, IntegerField
from app.kernel.taxes import A_BASIS_POINT
from app.shop import opening_hours, place
from app.shop.jurisdictions import choices, code_of
from app.shop.prices import parse_bands, parse_rates
from app.shop.wording import Pack

CODE = "Enter the code that was printed where Tagstrip was started."
CODE_OF_CURRENCY = re.compile("[A-Z]{3}")
PER_PERCENT = 1000  # a rate is kept in thousandths of a percent
BOTH = "Enter both the name and the rate of the second tax, or neither."
MOST_STEP = 10_000  # smallest coins
LEAST_SOAK = 30  # minutes. Common practice, no source: an amp is warm through by then.


def _yes(text: Any) -> bool:
    return str(text) == "True"


class AtMostDigits:
    """Refuses a number with more digits after the point than are kept: it would be another number."""

    def __init__(self, digits: int) -> None:
        self.digits = digits

    def __call__(self, _form: object, field: Field) -> None:
        if field.data is not None and round(field.data, self.digits) != field.data:
            raise ValidationError(f"Enter at most {('no', 'one', 'two', 'three')[self.digits]} digits after the point.")


class ShopForm(House):
    """Every field is a column of the shop, but for the tax rate, which people type in percent."""

    name = StringField("Name on paper", [Needed("Enter the shop's name."), Length(max=120)])
    address = TextAreaField("Address on paper", [Optional(), Length(max=400)])
    phone = TelField("Phone", [Optional(), Length(max=60)])
    email = EmailField("E-mail", [Optional(), Length(max=120)])
    licence = StringField("Licence or registration", [Optional(), Length(max=120)])
    tax_number = StringField("Tax number", [Optional(), Length(max=60)])
    wording = SelectField("Words", coerce=Pack, choices=options((p.value, p.label) for p in Pack))
    currency = StringField("Currency", [Needed("Enter the currency's three letters."),
                                        Regexp(r"^[A-Z]{3}$", message="Enter three capital letters, such as AUD or EUR.")])
    tax_name = StringField("Tax is called", [Optional(), Length(max=20)])
    tax_percent = DecimalField("Tax rate", [NumberRange(0, 100, "Enter a rate from 0 to 100 %%."), AtMostDigits(3)], places=3)
    paper = SelectField("Paper", choices=options([("A4", "A4"), ("Letter", "Letter")]))
    country = SelectField("Country")
    time_zone = SelectField("Time zone", validate_choice=False)
    jurisdiction = SelectField("Jurisdiction")
    mains_v = QuantityField("Supply voltage", [Needed("Enter the supply's volts, such as 230."),
                                               NumberRange(90, 260, "Enter volts from 90 to 260.")], unit="V")
    mains_hz = SelectField("Supply frequency", coerce=int, choices=options([(50, "50 Hz"), (60, "60 Hz")]))
    hourly_rate_minor = MoneyField("Rate an hour", [Needed("Enter the hourly rate."), NumberRange(0)])
    diagnosis_fee_minor = MoneyField("Diagnosis fee", [Needed("Enter the fee, 0 for none."), NumberRange(0)])
    decline_fee_minor = MoneyField("Fee when a quote is declined", [Needed("Enter the fee, 0 for none."), NumberRange(0)])
    quote_valid_days = IntegerField("A quote is valid for", [NumberRange(1, 365, "Enter days from 1 to 365.")])
    warranty_days = IntegerField("Warranty on work", [NumberRange(0, 3650, "Enter days from 0 to 3650.")])
    warn_at_percent = IntegerField("Warn at", [NumberRange(1, 100, "Enter a percentage from 1 to 100.")])
    hold_at_percent = IntegerField("Hold at", [NumberRange(1, 100, "Enter a percentage from 1 to 100.")])
    safe_volts = QuantityField("Treat as discharged below", [Needed("Enter volts, 10 is usual."),
                                                       NumberRange(0.1, 60, "Enter volts above 0, up to 60.")], unit="V")
    first_number = IntegerField("First repair number", [NumberRange(1, 9_999_999, "Enter a number from 1 to 9999999.")])
    first_bill = IntegerField("First bill number", [NumberRange(1, 9_999_999, "Enter a number from 1 to 9999999.")])
    first_credit_note = IntegerField("First credit note number", [
        NumberRange(1, 9_999_999, "Enter a number from 1 to 9999999.")])
    soak_minutes = IntegerField("Soak run", [NumberRange(LEAST_SOAK, 10080, (
        f"Enter minutes, from {LEAST_SOAK}: a fault that shows when warm has no time to show in fewer."))])

    opening_hours = TextAreaField("Opening hours", [Needed(f"Enter when the shop is open, for example {opening_hours.USUAL}."),
                                                    Length(max=600)])
    keeps_holidays = BooleanField("Closed on public holidays")
    closed_days = TextAreaField("Closed besides", [Optional(), Length(max=4000)])
    technicians = IntegerField("At the bench at once", [NumberRange(1, 20, "Enter people from 1 to 20.")])
    timer_longest_hours = IntegerField("Ask about a timer after", [NumberRange(1, 24, "Enter hours from 1 to 24.")])
    bill_minutes = IntegerField("Bill hours in steps of", [NumberRange(1, 60, "Enter minutes from 1 to 60.")])

    customer_years = IntegerField("Keep customers after their last repair for", [NumberRange(1, 40, "Enter years from 1 to 40.")])
    strip_location = BooleanField("Take the location out of original photos as they are added")
    backup_days = IntegerField("A backup is too old after", [NumberRange(1, 90, "Enter days from 1 to 90.")])
    least_views = IntegerField("Views of an amp that comes in", [NumberRange(1, 14, "Enter views from 1 to 14.")])
    accessory_list = TextAreaField("Accessories that are counted", [Optional(), Length(max=600)])

    confirmed = HiddenField()  # the currency and the amounts as they were shown again, when the currency changes
    confirmed_zone = HiddenField()  # the time zone as it was shown again, when it changes

    def process(self, formdata: Any = None, *args: Any, **kwargs: Any) -> None:
        """Amounts are read in the currency that stands on the same page, not in the one that the shop had."""
        posted = (formdata.get("currency", "") if formdata else "").strip()
        for field in (self.hourly_rate_minor, self.diagnosis_fee_minor, self.decline_fee_minor):
            field.in_currency = posted if CODE_OF_CURRENCY.fullmatch(posted) else ""
        super().process(formdata, *args, **kwargs)

    @property
    def amounts(self) -> list[tuple[str, str]]:
        """Each amount as it will be kept: what it is called, and the sum with its currency."""
        return [(field.label.text, show(int(field.data or 0), self.currency.data))
                for field in (self.hourly_rate_minor, self.diagnosis_fee_minor, self.decline_fee_minor)]

    def in_one_line(self) -> str:
        """What is confirmed when the currency changes."""
        return "; ".join(f"{called} {amount}" for called, amount in self.amounts)

    def __init__(self, formdata: Any = None, obj: Any = None, **kwargs: Any) -> None:
        super().__init__(formdata, obj=obj, **kwargs)
        stored = obj.jurisdiction if obj is not None else ""
        self.jurisdiction.choices = options(choices(stored))
        self.country.choices = options([("", "As the jurisdiction or the time zone says"), *place.countries().items()])
        self.time_zone.choices = options(_zones(obj.time_zone if obj is not None else "", self.time_zone.data or ""))
        if formdata is None and obj is not None:
            self.jurisdiction.data = code_of(stored)
            self.tax_percent.data = Decimal(obj.tax_rate) / PER_PERCENT

    def validate_time_zone(self, field: Field) -> None:
        if field.data not in available_timezones():
            raise ValidationError(f"“{field.data}” is not a time zone. Choose one from the list.")

    def validate_country(self, field: Field) -> None:
        if why := place.why_not_there(self.jurisdiction.data or "", field.data or ""):
            raise ValidationError(why)

    def validate_opening_hours(self, field: Field) -> None:
        _read(opening_hours.parse_opening, field)

    def validate_closed_days(self, field: Field) -> None:
        _read(opening_hours.parse_closed, field)

    def validate_hold_at_percent(self, field: Field) -> None:
        if self.warn_at_percent.data and field.data and field.data < self.warn_at_percent.data:
            raise ValidationError("The hold comes at or above the warning.")

    def settings(self) -> dict[str, Any]:
        """The columns to keep."""
        found = {name: value for name, value in self.data.items() if name not in ("tax_percent", "confirmed", "confirmed_zone")}
        found["closed_days"], found["accessory_list"] = found["closed_days"] or "", found["accessory_list"] or ""
        bp, third = divmod(int(self.tax_percent.data * PER_PERCENT), A_BASIS_POINT)
        return {**found, "tax_rate_bp": bp, "tax_third_digit": third}


def _zones(*entered: str) -> list[tuple[str, str]]:
    """The time zones to choose from; one that was entered before there was a list stays on it."""
    known = place.zones()
    kept = [(one, f"{one}, as it was entered") for one in dict.fromkeys(entered) if one and one not in known]
    return [*kept, *known.items()]


def _read(parse: Callable[[str], object], field: Field) -> None:
    try:
        parse(field.data or "")
    except ValueError as wrong:
        raise ValidationError(str(wrong)) from wrong


class PricesForm(House):
    """The price list beside the usual rate, and how tax is put on its prices. Every field is a column of the shop but the last."""

    labour_rates = TextAreaField("Further labour rates", [Optional(), Length(max=2000)])
    part_markups = TextAreaField("Markup on parts", [Optional(), Length(max=2000)])
    second_tax_name = StringField("A second tax is called", [Optional(), Length(max=20)])
    second_tax_percent = DecimalField("Its rate", [Optional(), NumberRange(0, 100, "Enter a rate from 0 to 100 %%."),
                                                   AtMostDigits(3)], places=3)
    second_on_first = RadioField("The second tax is on", coerce=_yes, default=False, choices=options((
        (False, "the price alone"), (True, "the price with the first tax in it"))))
    tax_included = RadioField("Prices are", coerce=_yes, default=False, choices=options((
        (False, "before tax"), (True, "tax included"))))
    tax_each_line = RadioField("Tax is rounded", coerce=_yes, default=False, choices=options((
        (False, "once, on the total"), (True, "on each item"))))
    cash_step = MoneyField("Cash is rounded to", [Needed("Enter the smallest coin, such as 0.05.")])
    pay_within_days = IntegerField("A bill is due after", [NumberRange(0, 365, "Enter days from 0 to 365, 0 for at once.")])

    def __init__(self, formdata: Any = None, obj: Any = None, **kwargs: Any) -> None:
        super().__init__(formdata, obj=obj, **kwargs)
        self.currency = obj.currency if obj is not None else ""
        if formdata is None and obj is not None:
            self.second_tax_percent.data = Decimal(obj.second_tax_rate) / PER_PERCENT if obj.second_tax_name else None

    def validate_labour_rates(self, field: Field) -> None:
        _read(lambda text: parse_rates(text, self.currency), field)

    def validate_part_markups(self, field: Field) -> None:
        _read(lambda text: parse_bands(text, self.currency), field)

    def validate_second_tax_name(self, _field: Field) -> None:  # asked only where it is filled in
        if self.second_tax_percent.data is None and not self.second_tax_percent.errors:
            raise ValidationError(BOTH)

    def validate_second_tax_percent(self, _field: Field) -> None:
        if not (self.second_tax_name.data or "").strip():
            raise ValidationError(BOTH)

    def validate_cash_step(self, field: Field) -> None:
        if field.data is not None and not 1 <= field.data <= MOST_STEP:
            raise ValidationError("Enter the smallest coin that is paid with, such as 0.05; 0.01 leaves cash as it is.")

    def settings(self) -> dict[str, Any]:
        """The columns to keep."""
        found = {name: value for name, value in self.data.items() if name != "second_tax_percent"}
        rate = self.second_tax_percent.data
        return {**found, "labour_rates": found["labour_rates"] or "", "part_markups": found["part_markups"] or "",
                "second_tax_name": (found["second_tax_name"] or "").strip(),
                "second_tax_rate": int(rate * PER_PERCENT) if rate is not None else 0}


class FirstStartForm(House):
    """The owner and the shop's name, once."""

    code = StringField("Code that was printed", [Needed(CODE), Length(max=20)])
    shop_name = StringField("Name of the shop", [Needed("Enter the shop's name as it is on paper."), Length(max=120)])
    name = StringField("Your name", [Needed("Enter your name."), Length(max=120)])
    password = PasswordField("Password", [Needed("Choose a password of at least 15 characters."), Length(max=200)])
