"""Forms of the money: an entry, a credit note, storage, a period."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from wtforms import RadioField, StringField, TextAreaField
from wtforms.validators import Length, Optional, ValidationError

from app.kernel.form_fields import ClockField, DayField, House, MoneyField, Needed, blank, options
from app.money.rules import EntryKind, Method
from app.money.service import Entry


class WriteOffForm(House):
    """What is given up. The sum is entered by whoever decides it: nothing stands there before."""

    amount_minor = MoneyField("Sum", [Needed("Enter the sum.")])
    paid_on = DayField("On", [Needed("Enter the day.")])
    paid_at = ClockField("At", [Needed("Enter the time.")])
    note = StringField("Why", [Needed("Enter why."), Length(max=400)])

    def entry(self, kind: EntryKind, zone: ZoneInfo) -> Entry:
        """What was entered; the moment is typed in the shop's zone."""
        moment = datetime.combine(self.paid_on.data, self.paid_at.data, zone).astimezone(UTC)
        return Entry(kind, int(self.amount_minor.data or 0), self.paid_by, moment, self.note.data or "")

    @property
    def paid_by(self) -> Method:
        return Method.NOTHING


class RefundForm(WriteOffForm):
    """What was given back, how, and why."""

    method = RadioField("How", [Needed("Choose how it was paid.")], coerce=blank(Method),
                        choices=options((m.value, m.value) for m in Method if m is not Method.NOTHING))

    @property
    def paid_by(self) -> Method:
        return Method(self.method.data)


class EntryForm(RefundForm):
    """What was paid, and how."""

    note = StringField("Note", [Optional(), Length(max=400)])


class CreditForm(House):
    """What of a bill is taken back."""

    credit_minor = MoneyField("Credited, tax included", [Needed("Enter what is credited.")])
    reason = TextAreaField("Why the bill is corrected", [Needed("Enter why the bill is corrected."), Length(max=400)])


class StorageForm(House):
    """Storage, where it was disclosed."""

    amount_minor = MoneyField("Storage, tax included", [Needed("Enter the sum.")])
    what = StringField("Which days, and the price a day", [
        Needed("Enter for which days, and at what price a day."), Length(max=200)])
    disclosed = StringField("Where and when the customer was told of it", [
        Needed("Enter where and when the customer was told of storage charges."), Length(max=400)])


class StrikeForm(House):
    """Why an entry does not count."""

    reason = TextAreaField("Why it does not count", [Needed("Enter why this entry does not count."), Length(max=400)])


class PeriodForm(House):
    """From one day to another, both counted."""

    first = DayField("From", [Needed("Enter the first day.")])
    last = DayField("To", [Needed("Enter the last day.")])

    def validate_last(self, field: DayField) -> None:
        if self.first.data and field.data and field.data < self.first.data:
            raise ValidationError("The last day lies before the first.")
