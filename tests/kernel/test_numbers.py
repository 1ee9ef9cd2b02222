"""No form takes for a number what only a programming language does; no text takes a sign that one database refuses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask import Flask

from app.kernel import money
from app.kernel.numbers import number, whole
from app.shop.queries import the_shop
from tests.pages import PageClient

APP = Path(__file__).parents[2] / "app"
NO_NUMBERS = ["NaN", "sNaN", "Infinity", "-inf", "1e400", "1_000", "１２", "٣", "0x10", "1 000", "--3", "9" * 12]


@pytest.mark.parametrize("typed", NO_NUMBERS)
def test_what_is_no_number_is_refused_in_words(typed: str) -> None:
    for read in (whole, number):
        with pytest.raises(ValueError, match="Enter a"):
            read(typed)


@pytest.mark.parametrize("typed", [one for one in NO_NUMBERS if one not in ("1 000", "9" * 12)])
def test_nor_is_it_money(typed: str) -> None:
    with pytest.raises(ValueError, match="is not an amount"):
        money.parse(typed, "AUD")


def test_point_and_comma_are_read() -> None:
    assert (whole("12"), float(number("2,5")), float(number(".5")), float(number("1.5e-7"))) == (12, 2.5, 0.5, 1.5e-7)


@pytest.mark.parametrize("typed", NO_NUMBERS)
def test_it_stands_beside_its_field_as_typed(owner: PageClient, typed: str) -> None:
    page = owner.post("/shop", {"tax_percent": typed, "warranty_days": typed})
    assert "Enter a number, such as 2.5." in page.words and "Enter a whole number, such as 3." in page.words
    fields = page.fields("/shop")
    assert (fields["tax_percent"], fields["warranty_days"]) == (typed, typed)


def test_a_rate_beyond_all_is_refused_in_words(owner: PageClient) -> None:
    assert "Enter a rate from 0 to 100 %." in owner.post("/shop", {"tax_percent": "100.5"}).words


def test_every_form_uses_these_fields() -> None:
    theirs = re.compile(r"from wtforms(?:\.\w+)* import (?:\([^)]*|[^\n]*)\b(?:Integer|Float|Decimal)Field\b")
    own_reading = {"kernel/form_fields.py", "bench/sums/forms.py"}  # fields on top of which another notation is read
    found = {str(one.relative_to(APP)) for one in APP.rglob("*.py") if theirs.search(one.read_text())}
    assert found == own_reading


def test_a_sign_no_text_can_hold_is_left_out_and_said(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"name": "Low\0gate"})
    assert "left out" in page.words and page.fields("/shop")["name"] == "Lowgate"
    owner.send("/shop", page.fields("/shop"))
    with app.app_context():
        assert the_shop().name == "Lowgate"
    owner.get("/find?q=%00", status=422)
