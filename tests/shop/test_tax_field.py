"""The tax rate as people type it."""

from __future__ import annotations

import pytest
from flask import Flask

from app.shop.queries import the_shop
from tests.pages import PageClient


@pytest.mark.parametrize("typed", ["9,5", "9.5", " 9,50 "])
def test_a_decimal_comma_is_a_decimal_comma(app: Flask, owner: PageClient, typed: str) -> None:
    assert "Saved." in owner.post("/shop", {"tax_percent": typed}).words
    with app.app_context():
        assert the_shop().tax_rate_bp == 950
    assert owner.get("/shop").fields("/shop")["tax_percent"] == "9.50"


def test_a_rate_finer_than_is_kept_is_refused_and_not_cut(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"tax_percent": "9,975"})
    assert "two digits" in page.words
    with app.app_context():
        assert the_shop().tax_rate_bp == 1000
