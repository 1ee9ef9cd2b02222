"""Another currency never moves the point of an amount that was typed (ISO 4217: the yen has no digits after it, from memory)."""

from __future__ import annotations

import pytest
from babel.numbers import list_currencies
from flask import Flask

from app.db import transaction
from app.errors import BadInput
from app.kernel.money import DIGITS, digits, why_not_kept_in
from app.shop import service
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY

AMOUNTS = {"hourly_rate_minor": "9500", "diagnosis_fee_minor": "8500", "decline_fee_minor": "0"}


def test_amounts_are_read_in_the_currency_typed_and_shown_again_before_they_are_kept(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"currency": "JPY", **AMOUNTS})
    assert "AUD becomes JPY" in page.words and "JPY 9,500" in page.words and "Nothing is saved yet" in page.words
    with app.app_context():
        assert (the_shop().currency, the_shop().hourly_rate_minor) == ("AUD", 9500)
    page = owner.send("/shop", page.fields("/shop"))
    assert "Saved." in page.words and page.fields("/shop")["hourly_rate_minor"] == "9,500"
    with app.app_context():
        assert (the_shop().currency, the_shop().hourly_rate_minor, the_shop().diagnosis_fee_minor) == ("JPY", 9500, 8500)


def test_what_was_not_shown_again_is_not_confirmed(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"currency": "JPY", **AMOUNTS})
    page = owner.send("/shop", {**page.fields("/shop"), "hourly_rate_minor": "95000"})
    assert "JPY 95,000" in page.words and "Nothing is saved yet" in page.words
    page = owner.send("/shop", {**page.fields("/shop"), "hourly_rate_minor": "95.50"})
    assert "has more than 0 digits after the point" in page.words
    with app.app_context():
        assert the_shop().currency == "AUD"


def test_once_an_order_is_there_the_currency_stays(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        factories.order()
    page = owner.post("/shop", {"currency": "JPY", **AMOUNTS})
    assert page.title.startswith("Error: ") and "The currency stays AUD" in page.words and page.fields("/shop")["currency"] == "JPY"
    with app.app_context():
        with pytest.raises(BadInput) as refused, transaction():
            service.change(the_shop(), {"currency": "JPY"}, by=BY, now=NOW)
        assert refused.value.field == "currency" and the_shop().currency == "AUD"
    assert "Saved." in owner.post("/shop", {"hourly_rate_minor": "96.50"}).words


def test_every_currency_that_is_taken_has_the_digits_that_cldr_gives_it(app: Flask, owner: PageClient) -> None:
    """Unicode CLDR supplemental currency data, as Babel carries it, is the reference for both."""
    from babel.numbers import get_currency_precision

    taken = {one for one in list_currencies() if not why_not_kept_in(one)}
    assert all(digits(one) == get_currency_precision(one) for one in taken) and {*DIGITS, "AUD", "USD", "EUR", "GBP"} <= taken
    assert why_not_kept_in("VND") and why_not_kept_in("ABC")
    assert "is no currency" in owner.post("/shop", {"currency": "ABC"}).words
