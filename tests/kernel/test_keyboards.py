"""Which keyboard a tablet brings up for each kind of field.

HTML, 6.8.7 `inputmode`: numeric brings figures alone, decimal figures and the point; neither brings letters, nor on every device a
minus. So they stand only where no letter and no minus is ever wanted.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import wtforms
from flask import Flask
from wtforms import Field
from wtforms.validators import NumberRange

from app import blueprints
from app.bench.sums.forms import PlainField
from app.kernel import numbers
from app.kernel.form_fields import House, MoneyField, NotationField, QuantityField
from app.kernel.tokens import UNSEEN_FIELDS

assert blueprints  # every room's forms are loaded by it
TEMPLATES = Path(__file__).parents[2] / "templates"


def kinds(base: type[House] = House) -> Iterator[type[House]]:
    for kind in base.__subclasses__():
        yield kind
        yield from kinds(kind)


def fields() -> Iterator[tuple[str, Field]]:
    for kind in sorted(set(kinds()), key=lambda one: f"{one.__module__}.{one.__name__}"):
        if kind.__module__.startswith("app."):
            for field in kind():
                if field.name in UNSEEN_FIELDS:
                    continue
                yield f"{kind.__name__}.{field.name}", field


def mode(field: Field) -> str:
    found = re.search(r'inputmode="(\w+)"', field())
    return found.group(1) if found else ""


@pytest.fixture(autouse=True)
def _asked(app: Flask) -> Iterator[None]:
    """Fields are said in the shop's words."""
    with app.test_request_context():
        yield


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


def test_every_number_brings_figures_and_every_quantity_letters_too() -> None:
    seen = set()
    for name, field in fields():
        if isinstance(field, QuantityField | NotationField) and not isinstance(field, PlainField):
            assert mode(field) == "text", f"{name} takes 47u: it needs letters"
            assert 'autocapitalize="none"' in field(), f"{name}: a tablet would make an M of the m"
        elif isinstance(field, numbers.IntegerField):
            assert mode(field) == "numeric", name
        elif isinstance(field, numbers.FloatField | numbers.DecimalField | MoneyField):
            assert mode(field) == "decimal", name
        else:
            continue
        seen.add(type(field).__name__)
    assert {"QuantityField", "NotationField", "IntegerField", "FloatField", "DecimalField", "MoneyField"} <= seen


def test_a_number_that_may_be_negative_keeps_its_minus() -> None:
    class Bias(House):
        grid = numbers.FloatField("Grid", [NumberRange(-90, 0)])
        free = numbers.FloatField("Free")
        count = numbers.IntegerField("Count", [NumberRange(0, 9)])

    form = Bias()
    assert [mode(form[name]) for name in ("grid", "free", "count")] == ["text", "text", "numeric"]


def test_no_template_gives_a_field_another_keyboard_than_its_kind() -> None:
    """Codes and PINs are figures that no number field reads; everything else follows its kind."""
    found = {path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*.html")
             if re.search(r"inputmode='", path.read_text(encoding="utf-8"))}
    assert found - {"components/forms.html"} == {"access/me.html", "access/by_pin.html"}


def test_a_day_a_time_a_phone_and_an_address_have_a_keyboard_of_their_own() -> None:
    for name, field in fields():
        if isinstance(field, wtforms.DateField | wtforms.TimeField | wtforms.TelField | wtforms.EmailField):
            assert re.search(r'type="(date|time|tel|email)"', field()), name
