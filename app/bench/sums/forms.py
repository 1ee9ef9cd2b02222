"""The form of each sum, built from its fields; what is typed, what it means, and what cannot be read."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from typing import Any

from werkzeug.datastructures import MultiDict
from wtforms import Field as AnyField
from wtforms import HiddenField, IntegerField, RadioField, SelectField, StringField
from wtforms.validators import Length, Optional, StopValidation
from wtforms.widgets import TextInput

from app.bench.sums.kinds import Field, Given, Sum, Value, ours
from app.bench.sums.targets import Target
from app.electrics import ElectricsError, NotationError, parse, show
from app.kept.models import KeptSum
from app.kernel.form_fields import House, Needed, QuantityField, options
from app.orders.models import RepairOrder

_EXPONENT = re.compile(r"[0-9]+(?:\.[0-9]+)?e[+-][0-9]+")
_BARE = re.compile(r"([0-9]*[.,]?[0-9]+)\s*([A-Z]?)")
_CENTRE_TAPPED = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*[-–]\s*0\s*[-–]\s*\1(\s*V)?", re.IGNORECASE)
# From how much on a bare number of the unit is hardly meant, and the prefix that was: common practice, no source.
_HARDLY = {"F": (0.01, "u"), "A": (20.0, "m")}


class BenchField(QuantityField):
    """A quantity whose refusal says where reading stopped and how to write it."""

    widget = TextInput()

    def process_formdata(self, valuelist: list[str]) -> None:
        self.typed = valuelist[0].strip() if valuelist else ""
        self.data = None
        if self.typed:
            self.data = self.read(self.typed)

    def read(self, typed: str) -> float:
        """The SI value of what was typed. A winding may be written 325-0-325: one leg is meant."""
        legs = _CENTRE_TAPPED.fullmatch(typed) if self.unit == "V" else None
        typed = legs.group(1) if legs else typed
        try:
            value = parse(typed, unit=self.unit)
        except NotationError as wrong:
            marked = f"{typed[:wrong.place]}▸{typed[wrong.place:]}"
            raise ValueError(f"“{marked}” cannot be read: {wrong.reason}. Write it like 4k7, 0.022u or 325.") from wrong
        bare = _BARE.fullmatch(typed)
        if bare and bare.group(2) in ("", self.unit) and self.unit in _HARDLY and value >= _HARDLY[self.unit][0]:
            meant = bare.group(1) + _HARDLY[self.unit][1]
            raise ValueError(f"“{typed}” is {show(value, self.unit)}: hardly in an amp. "
                             f"Did you mean {meant} ({show(parse(meant, unit=self.unit), self.unit)})?")
        return value


class PlainField(BenchField):
    """A number in a unit that takes no multiplier."""

    keys = "decimal"

    def read(self, typed: str) -> float:
        text = typed.removesuffix(self.unit).strip().replace(",", ".")
        if not re.fullmatch(r"[+-]?([0-9]{1,9}\.?[0-9]*|\.[0-9]+)", text):
            raise ValueError(f"“{typed}” cannot be read: write a number such as 10.")
        return float(text)


class PercentField(PlainField):
    """A share typed in per cent, kept as a fraction."""

    def read(self, typed: str) -> float:
        return super().read(typed) / 100.0


class WholeField(IntegerField):  # type: ignore[misc]
    """A whole number."""

    widget = TextInput()

    def process_formdata(self, valuelist: list[str]) -> None:
        typed = valuelist[0].strip() if valuelist else ""
        self.data = None
        if typed:
            if not re.fullmatch(r"[+-]?[0-9]{1,6}", typed):
                raise ValueError(f"“{typed}” cannot be read: write a whole number.")
            self.data = int(typed)


class Between:
    """Within the bounds of the field, said in its own unit."""

    def __init__(self, low: float, high: float, unit: str) -> None:
        self.low, self.high, self.unit = low, high, unit

    def __call__(self, form: Any, field: AnyField) -> None:
        shown = field.data * 100 if self.unit == "%" else field.data
        if not self.low <= shown <= self.high:
            raise StopValidation(f"This must be from {self.low:g} to {self.high:g} {self.unit}".strip() + ".")


class KeepForm(House):
    """What goes with a sum that is kept."""

    order_id = SelectField("For", coerce=str)
    note = StringField("Note", [Optional(), Length(max=300, message="Keep the note under 300 letters.")])
    replaces = HiddenField()

    @property
    def order(self) -> int | None:
        return int(self.order_id.data) if str(self.order_id.data or "").isdecimal() else None

    @property
    def in_place_of(self) -> int | None:
        """The kept calculation whose place this one takes."""
        return int(self.replaces.data) if str(self.replaces.data or "").isdecimal() else None


class UseForm(House):
    """Which figure the order takes, and for what."""

    figure = SelectField("Figure")
    target = SelectField("Use it for", validators=[Needed("Choose what it is for.")])

    def offer(self, kept: KeptSum, targets: Iterable[Target]) -> None:
        """The numbers of the calculation, and what they may go to."""
        self.figure.choices = options((one.key, one.words) for one in kept.figures)
        self.target.choices = options((one.key, one.words) for one in targets)


class WithdrawSumForm(House):
    """Why a kept calculation is withdrawn."""

    reason = StringField("Why it is withdrawn", [Needed("Enter why it is withdrawn."), Length(max=300)])


def keep_form(orders: list[RepairOrder], sent: MultiDict[str, str] | None = None) -> KeepForm:
    """The form, with the open orders to choose from."""
    form = KeepForm(sent)
    form.order_id.choices = options([("", "no order"), *((str(one.id), f"{one.number} · {one.amp.maker} {one.amp.model}".strip())
                                                        for one in orders)])
    return form


def read(one: Sum, sent: Mapping[str, str]) -> House:
    """The sum's form with what was sent, and its defaults where nothing was."""
    typed = MultiDict({field.name: sent.get(field.name, field.default) for field in one.fields})
    form: House = _form_of(one)(typed)
    return form


def typed(one: Sum, form: House) -> dict[str, str]:
    """What stands in each field, as text."""
    return {field.name: str((form[field.name].raw_data or [""])[0]).strip() for field in one.fields}


def given(one: Sum, form: House) -> Given:
    """What the fields mean, in SI units."""
    return Given(values(one, form))


def values(one: Sum, form: House) -> dict[str, Value]:
    """The same by name."""
    return {field.name: form[field.name].data for field in one.fields}


def blame(one: Sum, form: House, wrong: ElectricsError) -> None:
    """Put a refusal of the electrics beside the field it is about, or above the form."""
    if "(" in wrong.argument:  # a whole call: each value is in range, their result is not
        form.form_errors.append("These values together are too extreme for an answer.")
        return
    field = one.field_for(wrong.argument)
    if field is None:
        form.form_errors.append(f"No answer: {wrong.argument.replace('_', ' ')} must be {_said(one, wrong.allowed)}.")
        return
    allowed = _said(one, wrong.allowed)
    if field.kind in ("quantity", "plain") and re.search(r"[0-9][kMGTmµnp]?$", allowed):
        allowed = f"{allowed} {field.sign}"
    form[field.name].errors = [*form[field.name].errors, f"This must be {allowed}."]


def _said(one: Sum, text: str) -> str:
    """Argument names as the labels of their fields."""
    for field in one.fields:
        for name in (field.name, *field.covers):
            text = re.sub(rf"\b{re.escape(name)}\b", f"“{field.label}”", text)
    return ours(_EXPONENT.sub(lambda found: show(float(found.group())), text))


@functools.cache
def _form_of(one: Sum) -> type[House]:
    made: type[House] = type("SumForm", (House,), {field.name: _field(field) for field in one.fields})
    return made


def _field(field: Field) -> AnyField:
    checks: list[Any] = [Optional()] if field.optional else [Needed(f"Enter this: {field.label}.")]
    if field.low is not None and field.high is not None:
        checks.append(Between(field.low, field.high, field.unit))
    if field.kind == "quantity":
        return BenchField(field.label, checks, unit=field.unit)
    if field.kind == "plain":
        return PlainField(field.label, checks, unit=field.unit)
    if field.kind == "percent":
        return PercentField(field.label, checks, unit="%")
    if field.kind == "count":
        return WholeField(field.label, checks)
    if field.kind == "words":
        return StringField(field.label, checks)
    kind = RadioField if field.kind == "chips" else SelectField
    return kind(field.label, choices=options(field.options))


