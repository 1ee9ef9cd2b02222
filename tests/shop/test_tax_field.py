"""The tax rate as people type it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from flask import Flask

from app.shop.queries import the_shop
from tests.pages import PageClient


@pytest.mark.parametrize("typed", ["9,5", "9.5", " 9,50 "])
def test_a_decimal_comma_is_a_decimal_comma(app: Flask, owner: PageClient, typed: str) -> None:
    assert "Saved." in owner.post("/shop", {"tax_percent": typed}).words
    with app.app_context():
        assert the_shop().tax_rate_bp == 950
    assert owner.get("/shop").fields("/shop")["tax_percent"] == "9.500"


@pytest.mark.parametrize(("typed", "thousandths"), [("8,875", 8875), ("8.875", 8875), ("9.975", 9975), ("0.001", 1)])
def test_three_digits_are_kept(app: Flask, owner: PageClient, typed: str, thousandths: int) -> None:
    """8.875 % is the sales tax of New York City, state, city and district together (NYS Publication 718, from memory)."""
    assert "Saved." in owner.post("/shop", {"tax_percent": typed}).words
    with app.app_context():
        rule = the_shop().tax_rule
        assert rule.taxes[0].rate == thousandths
        assert rule.on([100_000]).tax_minor == thousandths  # smallest coins of 1000.00
    assert owner.get("/shop").fields("/shop")["tax_percent"] == str(Decimal(thousandths) / 1000)


def test_a_rate_finer_than_is_kept_is_refused_and_not_cut(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"tax_percent": "9,9755"})
    assert "three digits" in page.words
    with app.app_context():
        assert the_shop().tax_rate_bp == 1000
