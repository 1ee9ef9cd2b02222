"""Forms from the spec of a record: its fields, what was entered as facts, and facts as a page shows them."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import MISSING, fields
from functools import singledispatch
from typing import Any, TypeVar

from wtforms import (
    BooleanField,
    EmailField,
    HiddenField,
    MultipleFileField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TelField,
    TextAreaField,
)
from wtforms.validators import Length, NumberRange, Optional

from app.kernel import spec
from app.kernel.form_fields import (
    DayField,
    House,
    MoneyField,
    Needed,
    NotationField,
    QuantityField,
    as_typed,
    blank,
    in_si,
    options,
)
from app.kernel.numbers import FloatField, IntegerField

F = TypeVar("F", bound=House)
T = TypeVar("T")
TEXTS = {"line": StringField, "lines": TextAreaField, "phone": TelField, "email": EmailField, "hidden": HiddenField}


def asks(facts: type[Any], *, only: Collection[str] = (), may_stay_empty: Collection[str] = ()) -> Callable[[type[F]], type[F]]:
    """Give a form the fields of these facts, before those of its own. `only` some; what is named `may_stay_empty` may."""
    def dress(form: type[F]) -> type[F]:
        own = [field for field in vars(form).values() if hasattr(field, "creation_counter")]
        for name, how in spec.spec_of(facts).items():
            if not isinstance(how, spec.Fed) and (not only or name in only):
                setattr(form, name, field_for(how, Optional() if name in may_stay_empty else _presence(how)))
        for field in own:  # WTForms keeps fields in the order in which they were made
            field.creation_counter = field_for(spec.Flag(""), None).creation_counter
        form.asked_of = (facts, *form.asked_of)
        return form
    return dress


def read_facts(form: House, facts: type[T], **instead: Any) -> T:
    """What was entered, as facts; values that the form makes otherwise are given as `instead`."""
    entered: dict[str, Any] = {}
    for field in fields(facts):  # type: ignore[arg-type]
        how = field.metadata.get(spec.ASKED)
        if how is None or field.name in instead:
            continue
        value = value_in(how, form, field.name)
        entered[field.name] = field.default if value is None and field.default is not MISSING else value
    return facts(**entered, **instead)


def shown(record: Any, facts: type[Any]) -> dict[str, Any]:
    """What a page shows of a record that stands, field by field; each name must be one of the record's."""
    return {name: shown_in(how, getattr(record, name)) for name, how in spec.spec_of(facts).items()
            if not isinstance(how, spec.Files | spec.Fed)}


def _presence(how: spec.Asked) -> Any:
    if how.needed is None:
        return None
    return Needed(how.needed) if how.needed else Optional()


@singledispatch
def field_for(how: spec.Asked, presence: Any) -> Any:
    """The field of a form that asks this; `presence` is its first check, or None."""
    raise TypeError(f"no form asks {how!r}")


@field_for.register
def _(how: spec.Text, presence: Any) -> Any:
    checks = [presence] if how.sort != "hidden" and presence else []
    return TEXTS[how.sort](how.label or None, [*checks, *([Length(max=how.longest)] if how.longest else [])])


@field_for.register
def _(how: spec.Choice, presence: Any) -> Any:
    field = SelectField if how.drop_down else RadioField
    checks = [presence] if presence else []
    if how.later and how.reads is None:
        return field(how.label, checks, choices=[], validate_choice=not how.any_text)
    if how.reads is not None:
        return field(how.label, checks, choices=[], coerce=blank(how.reads), default=how.start)
    if how.any_text:
        return field(how.label, checks, validate_choice=False, choices=options(how.words.items()))
    keys = {_key(value): value for value in how.words}

    def chosen(text: Any) -> Any:
        if (key := _key(text)) in keys:
            return keys[key]
        if how.needed == "" and text in ("", None, "None", how.blank_key):
            return None
        raise ValueError(text)

    offered = [(_key(value), word) for value, word in how.words.items()]
    if how.blank:
        offered = [(how.blank_key, how.blank), *offered]
    return field(how.label, checks, coerce=chosen, choices=options(offered), default=how.start)


@field_for.register
def _(how: spec.Several, presence: Any) -> Any:
    return SelectMultipleField(how.label, [presence] if presence else [], validate_choice=not how.later,
                               choices=options((_key(value), word) for value, word in how.words.items()))


@field_for.register
def _(how: spec.Parsed, presence: Any) -> Any:
    field = TextAreaField if how.lines else StringField
    return field(how.label, [*([presence] if presence else []), Length(max=how.longest)])


@field_for.register
def _(how: spec.Flag, _presence: Any) -> Any:
    return BooleanField(how.label, default=how.start)


@field_for.register
def _(how: spec.Number, presence: Any) -> Any:
    checks = [presence] if presence else []
    if how.low is not None or how.high is not None:
        checks.append(NumberRange(how.low, how.high, how.wrong or None))
    if how.unit is not None:
        return QuantityField(how.label, checks, unit=how.unit, default=how.start)
    return (IntegerField if how.whole else FloatField)(how.label, checks, default=how.start)


@field_for.register
def _(how: spec.InUnit, presence: Any) -> Any:
    def readable(form: House, field: Any) -> None:
        in_si(field, form[how.unit_of].data)
    return NotationField(how.label, [*([presence] if presence else []), Length(max=how.longest), readable])


@field_for.register
def _(how: spec.Money, presence: Any) -> Any:
    return MoneyField(how.label, [presence] if presence else [])


@field_for.register
def _(how: spec.Day, presence: Any) -> Any:
    return DayField(how.label, [presence] if presence else [])


@field_for.register
def _(how: spec.Files, presence: Any) -> Any:
    return MultipleFileField(how.label, [presence] if presence else [])


@singledispatch
def value_in(how: spec.Asked, form: House, name: str) -> Any:
    """The value that stands in a field of a form, as facts keep it; None for nothing."""
    return form[name].data


@value_in.register
def _(how: spec.Text, form: House, name: str) -> Any:
    return form[name].data or ""


@value_in.register
def _(how: spec.Flag, form: House, name: str) -> Any:
    return bool(form[name].data)


@value_in.register
def _(how: spec.Several, form: House, name: str) -> Any:
    return how.join(form[name].data or ())


@value_in.register
def _(how: spec.Parsed, form: House, name: str) -> Any:
    return how.read(form[name].data or "")


@value_in.register
def _(how: spec.InUnit, form: House, name: str) -> Any:
    return in_si(form[name], form[how.unit_of].data)


@value_in.register
def _(_how: spec.Files, _form: House, _name: str) -> Any:
    return ()


@singledispatch
def shown_in(how: spec.Asked, value: Any) -> Any:
    """A value as its field shows it."""
    return value


@shown_in.register
def _(how: spec.Several, value: Any) -> Any:
    return [_key(one) for one in how.split(value)]


@shown_in.register
def _(how: spec.Parsed, value: Any) -> Any:
    return how.show(value)


@shown_in.register
def _(_how: spec.InUnit, value: Any) -> Any:
    return as_typed(value)


def _key(value: Any) -> str:
    return str(getattr(value, "value", value))
