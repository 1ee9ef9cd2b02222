"""ISO 4217: two digits after the point, none for the yen, three for the Kuwaiti dinar (from memory of the standard)."""

from __future__ import annotations

import pytest
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from app.kernel.money import DIGITS, digits, for_hours, parse, show, tax_on


@given(st.integers(-10**9, 10**9), st.sampled_from(["AUD", "EUR", "JPY", "KWD"]))
def test_what_is_shown_is_read_back(minor: int, currency: str) -> None:
    assert parse(show(minor, currency).replace("−", "-"), currency) == minor


@pytest.mark.parametrize(("minor", "currency", "shown"), [
    (12345, "AUD", "AUD 123.45"), (-5, "USD", "USD −0.05"), (123456789, "EUR", "EUR 1,234,567.89"), (0, "GBP", "GBP 0.00"),
    (1234567, "JPY", "JPY 1,234,567"), (1234567, "KWD", "KWD 1,234.567"), (10**12, "AUD", "AUD 10,000,000,000.00")])
def test_a_sum_is_shown_with_its_code_and_every_digit(minor: int, currency: str, shown: str) -> None:
    assert show(minor, currency) == shown


@pytest.mark.parametrize("currency", [*DIGITS, "AUD", "USD", "EUR", "GBP", "NZD", "CAD", "CHF", "SEK"])
def test_the_digits_of_a_currency_are_those_of_cldr(currency: str) -> None:
    """Unicode CLDR supplemental currency data, as Babel carries it; ISO 4217's list has the same."""
    assert digits(currency) == get_currency_precision(currency)


@pytest.mark.parametrize(("typed", "minor"), [("85", 8500), ("85.5", 8550), ("85,50", 8550), ("1,234.50", 123450),
                                              ("1.234,50", 123450), ("1,234", 123400), (" AUD 9.99 ", 999), ("0", 0)])
def test_amounts_as_people_type_them(typed: str, minor: int) -> None:
    assert parse(typed, "AUD") == minor


@pytest.mark.parametrize("typed", ["", "abc", "1.234", "12.345", "NaN", "inf", "--3", "1e-9"])
def test_what_is_no_amount_says_so(typed: str) -> None:
    with pytest.raises(ValueError, match="“"):
        parse(typed, "AUD")


@pytest.mark.parametrize(("net", "rate_bp", "tax"), [(10000, 1000, 1000), (105, 1000, 11), (104, 1000, 10), (9999, 2000, 2000),
                                                     (1, 725, 0), (0, 2500, 0)])
def test_tax_is_rounded_half_up(net: int, rate_bp: int, tax: int) -> None:
    assert tax_on(net, rate_bp) == tax


@pytest.mark.parametrize(("hours", "rate", "price"), [(1.5, 9500, 14250), (0.25, 9999, 2500), (0.1, 9500, 950)])
def test_hours_are_priced_without_float_dust(hours: float, rate: int, price: int) -> None:
    assert for_hours(hours, rate) == price
