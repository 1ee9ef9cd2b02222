"""The price list as it is typed, and what it makes of hours and of parts. Figures by hand."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import transaction
from app.errors import BadInput
from app.quote.rules.lines import Hours
from app.quote.service import lines
from app.shop.prices import Band, Rate, parse_bands, parse_rates, price_of_parts
from app.shop.queries import the_shop
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY
from tests.quote import make

RATES = "Microscopic work: 120, at least 60\n\n Setting up : 80.50"
BANDS = "from 50: 40 %\nfrom 0: 60%\nfrom 200: 25,5 %"


def test_rates_and_markups_are_read_as_people_write_them() -> None:
    assert parse_rates(RATES, "AUD") == (Rate("Microscopic work", 12_000, 6000), Rate("Setting up", 8050))
    assert parse_rates("Bench: 12,000", "JPY") == (Rate("Bench", 12_000),)
    assert parse_rates("Bench: 12.500, at least 5", "KWD") == (Rate("Bench", 12_500, 5000),)
    assert [(one.from_minor, str(one.percent)) for one in parse_bands(BANDS, "AUD")] == [(0, "60"), (5000, "40"), (20_000, "25.5")]
    assert parse_rates("", "AUD") == () and parse_bands(" \n", "AUD") == ()


@pytest.mark.parametrize("text", ["Bench", "Bench: much", "A: 1\na: 2", "Bench: -5", "x" * 41 + ": 5"])
def test_what_is_no_rate_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        parse_rates(text, "AUD")


@pytest.mark.parametrize("text", ["60 %", "from 0: x", "from 5: 10\nfrom 5: 20", "from -1: 10", "from 0: 1001"])
def test_what_is_no_markup_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        parse_bands(text, "AUD")


@pytest.mark.parametrize(("cost", "price"), [(0, 0), (1000, 1600), (4999, 7998), (5000, 7000), (19_999, 27_999), (20_000, 25_100),
                                             (333, 533)])
def test_parts_are_priced_by_the_band_of_their_cost(cost: int, price: int) -> None:
    """333 × 1.6 = 532.8; 4999 × 1.6 = 7998.4; 19,999 × 1.4 = 27,998.6."""
    assert price_of_parts(cost, parse_bands(BANDS, "AUD")) == price
    assert price_of_parts(cost, ()) == cost
    assert price_of_parts(1000, [Band(5000, parse_bands("from 50: 40", "AUD")[0].percent)]) == 1000


def test_a_line_takes_its_rate_its_minimum_and_its_markup(context: Flask) -> None:
    with transaction():
        shop = the_shop()
        shop.labour_rates, shop.part_markups = RATES, BANDS
        order = make.order_at()
        short = make.line(order, hours=Hours.one(0.25), rate_name="Microscopic work", parts_minor=0, parts_cost_minor=5000)
        assert (short.rate_minor, short.labour_minor, short.parts_minor) == (12_000, 6000, 7000)
        assert make.line(order, hours=Hours.one(1), rate_name="Microscopic work").labour_minor == 12_000
        assert make.line(order, hours=Hours.one(0), rate_name="Microscopic work").labour_minor == 0
        with pytest.raises(BadInput, match="not on the price list"):
            lines.add(order, make.draft(rate_name="Gone"), by=BY, now=NOW)
        with pytest.raises(BadInput, match="not both"):
            lines.add(order, make.draft(parts_cost_minor=5000), by=BY, now=NOW)
        issued = make.issue(order)
        shop.labour_rates = "Microscopic work: 300"
        assert (issued.lines[0].rate_name, issued.lines[0].rate_minor) == ("Microscopic work", 12_000)


def test_the_owner_sets_prices_and_the_bench_uses_them(app: Flask, owner: PageClient, technician: PageClient) -> None:
    assert "/shop/prices" in owner.get("/shop").links()
    page = owner.post("/shop/prices", {"labour_rates": "Bench 95", "cash_step": "0.05"})
    assert "is not a rate" in page.words and page.fields("/shop/prices")["labour_rates"] == "Bench 95"
    page = owner.post("/shop/prices", {"second_tax_name": "QST"})
    assert "Enter both the name and the rate" in page.words
    page = owner.post("/shop/prices", {"labour_rates": RATES, "part_markups": BANDS, "cash_step": "0,05", "second_tax_name": "QST",
                                       "second_tax_percent": "9,975", "second_on_first": "True", "tax_included": "True",
                                       "tax_each_line": "True", "pay_within_days": "14"})
    assert "Saved." in page.words
    fields = page.fields("/shop/prices")
    assert (fields["second_tax_percent"], fields["cash_step"], fields["tax_included"]) == ("9.975", "0.05", "True")
    with app.app_context(), transaction():
        shop = the_shop()
        assert (shop.second_tax_rate, shop.cash_step, shop.pay_within_days, shop.tax_rule.second_on_first) == (9975, 5, 14, True)
        order_id = make.order_at().id
    base = f"/orders/{order_id}/quote"
    page = technician.get(f"{base}/lines/new")
    assert "Microscopic work, AUD 120.00 an hour, at least AUD 60.00 an item" in page.words.replace("\u00a0", " ")
    page = technician.post(f"{base}/lines/new", {
        "what": "Replace the supply capacitors", "group": "required for the complaint", "hours_likely": "0.25", "parts": "three",
        "parts_cost_minor": "50", "condition": "new", "rate_name": "Microscopic work"})
    words = page.words.replace("\u00a0", " ")
    assert "Microscopic work" in words and "AUD 130.00" in words and "QST 9.975 %" in words
    technician.get("/shop/prices", status=403)
