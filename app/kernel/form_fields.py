"""House form: WTForms with our words. All fields look and err alike; errors say what to enter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, Protocol, TypeVar

from flask import request
from werkzeug.datastructures import CombinedMultiDict, MultiDict
from wtforms import DateField, Field, FloatField, Form, SelectField, StringField, TimeField
from wtforms.fields.choices import SelectChoice
from wtforms.meta import DefaultMeta
from wtforms.validators import StopValidation, ValidationError
from wtforms.widgets import TextInput

from app.electrics.errors import ElectricsError
from app.electrics.notation import parse, show
from app.errors import BadInput
from app.kernel import money
from app.kernel.form_messages import HouseWords
from app.kernel.keyboards import keyboard
from app.kernel.resubmitted_uploads import look_back
from app.kernel.speech import currency, say

F = TypeVar("F", bound="House")
SHOWN_DIGITS = 7
NO_SIGN = "\x00"  # what one of the databases cannot keep in a text, so that neither is given it
UNCUT = {"maxlength": False}  # a browser would cut what is pasted without a word; too long is refused with the length said
LEFT_OUT = "A character in it cannot be stored and was left out. Check it, then save it again."


class House(Form):  # type: ignore[misc]
    """The base of every form. `add_error` puts a refusal of the rules beside the field it is about.

    Labels and choices are written in valve words and said in the shop's own.
    """

    class Meta(DefaultMeta):  # type: ignore[misc]
        def get_translations(self, form: Form) -> HouseWords:
            return HouseWords()

        def render_field(self, field: Field, render_kw: dict[str, Any]) -> Any:
            if isinstance(field, SelectField):
                field.choices = [replace(one, label=say(str(one.label))) for one in field.choices]
            return super().render_field(field, {**keyboard(field), **UNCUT, **render_kw})

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self:
            field.label.text = say(field.label.text)

    asked_of: tuple[type[Any], ...] = ()  # the facts whose spec its fields come from
    feeds: Mapping[str, str] = {}  # a field of its own → the field of the spec that it helps to enter
    spoilt: frozenset[str] = frozenset()  # names of fields from which a sign was left out

    def validate(self, extra_validators: Any = None) -> bool:
        found = bool(super().validate(extra_validators))
        for name in sorted(self.spoilt):
            self.add_error(BadInput(LEFT_OUT, name))
        return found and not self.spoilt

    def add_error(self, wrong: BadInput) -> None:
        """Show a refusal beside its field, or above the form if it names none of ours."""
        if wrong.field in self._fields:
            self._fields[wrong.field].errors = [*self._fields[wrong.field].errors, wrong.words]
        else:
            self.form_errors.append(wrong.words)

    @property
    def has_errors(self) -> bool:
        return bool(self.errors)


class Needed:
    """Something must be entered; the message says what."""

    field_flags = {"required": True}

    def __init__(self, message: str) -> None:
        self.message = message

    def __call__(self, form: Form, field: Field) -> None:
        given = field.data
        if given is None or (isinstance(given, str) and not given.strip()) or given == []:
            had_reason = bool(field.errors)
            if had_reason and field.raw_data and str(field.raw_data[0]).strip():
                raise StopValidation()  # what was typed could not be read: that message stands
            field.errors = []
            raise StopValidation(self.message)


class NotationField(StringField):  # type: ignore[misc]
    """Text in bench notation (47u, >200M) whose unit something else decides: kept as it is typed, read by the form or its rules."""

    keys = "notation"


class QuantityField(FloatField):  # type: ignore[misc]
    """A quantity in bench notation (4k7, 0.022u, 325), kept in SI units; `typed` holds the text as entered."""

    keys = "notation"
    widget = TextInput()  # not a number field: a browser would refuse 4k7

    def __init__(self, label: str = "", validators: Any = None, *, unit: str, **kwargs: Any) -> None:
        super().__init__(label, validators, **kwargs)
        self.unit = unit
        self.typed = ""

    def process_formdata(self, valuelist: list[str]) -> None:
        self.typed = valuelist[0].strip() if valuelist else ""
        self.data = None
        if not self.typed:
            return
        try:
            self.data = parse(self.typed, unit=self.unit)
        except ElectricsError as wrong:
            raise ValueError(str(wrong)) from wrong

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else show(self.data).strip()


class MoneyField(StringField):  # type: ignore[misc]
    """An amount of money, kept in minor units: of the shop's currency, or of `in_currency` where the form says another."""

    in_currency = ""

    keys = "decimal"

    def process_formdata(self, valuelist: list[str]) -> None:
        typed = valuelist[0].strip() if valuelist else ""
        self.data = money.parse(typed, self.in_currency or currency()) if typed else None

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        if self.data is None:
            return ""
        code = self.in_currency or currency()
        return money.show(int(self.data), code).removeprefix(code).strip()


EARLIEST, LATEST = 1900, 2199  # years: a day at the calendar's ends has no moment in every zone, and is a slip of the pen


class DayField(DateField):  # type: ignore[misc]
    """A day, as the browser's date field sends it."""

    data: Any

    def process_formdata(self, valuelist: list[str]) -> None:
        try:
            super().process_formdata(valuelist)
        except ValueError:
            raise ValueError("Enter a day such as 2026-11-25.") from None
        if self.data is not None and not EARLIEST <= self.data.year <= LATEST:
            self.data = None
            raise ValueError(f"Enter a day from {EARLIEST} to {LATEST}.")


class ClockField(TimeField):  # type: ignore[misc]
    """A time of day, as the browser's time field sends it."""

    def process_formdata(self, valuelist: list[str]) -> None:
        try:
            super().process_formdata(valuelist)
        except ValueError:
            raise ValueError("Enter a time such as 14:30.") from None


class HasUnit(Protocol):
    """A kind of quantity."""

    @property
    def unit(self) -> str: ...


def in_si(field: Field, quantity: HasUnit | None) -> float | None:
    """What stands in a text field, for fields whose quantity another field decides; ValidationError in the notation's words."""
    text = (field.data or "").strip()
    if not text:
        return None
    try:
        return parse(text, unit=quantity.unit if quantity else "")
    except ElectricsError as wrong:
        raise ValidationError(str(wrong)) from wrong


def as_typed(value: float | None) -> str:
    """A stored value as somebody would type it; nothing that a meter of the bench can tell is lost."""
    return "" if value is None else show(value, digits=SHOWN_DIGITS).strip()


def draw(field: Field) -> str:
    """Called by the macro that draws a field; writes nothing. What was drawn can be led to."""
    field.drawn = True
    return ""


def is_drawn(field: Field) -> bool:
    """Whether the page has drawn this field, so that its error can lead there."""
    return getattr(field, "drawn", False)


def blank(kind: Any) -> Any:
    """Reads a choice; an empty one is None."""
    return lambda text: kind(text) if text not in ("", None, "None") else None


def options(pairs: Iterable[tuple[Any, str]]) -> list[SelectChoice]:
    """Choices for a select, radio or chips field, from value and label."""
    return [SelectChoice(value, label) for value, label in pairs]


def read_form(kind: type[F], /, obj: Any = None, **data: Any) -> F:
    """The form with what was posted; on a GET with what is stored in `obj` and `data`."""
    if request.method == "POST":
        look_back()
        entered = list(request.form.items(multi=True))
        clean = MultiDict((name, value.replace(NO_SIGN, "")) for name, value in entered)
        form = kind(CombinedMultiDict([request.files, clean]), obj=obj, data=data or None)
        form.spoilt = frozenset(name for name, value in entered if NO_SIGN in value)
        return form
    return kind(None, obj=obj, data=data or None)
