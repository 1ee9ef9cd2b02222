"""Money: integer minor units with a currency. Pure."""

from __future__ import annotations

import functools
import re
from decimal import ROUND_HALF_UP, Decimal

# ISO 4217: digits after the point; all others have two. Checked against CLDR; sums are stored in these units, so none changes.
DIGITS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "BHD": 3, "KWD": 3, "OMR": 3, "TND": 3, "JOD": 3}
ENGLISH = "en_001"  # the decimal point and the comma between thousands, in every country: see local_forms
BASIS_POINTS = 10_000
_AMOUNT = re.compile(r"[+-]?([0-9]{1,40}\.?[0-9]{0,20}|\.[0-9]{1,20})")
MOST = 10**12  # minor units; far below what the database's integers hold


def digits(currency: str) -> int:
    """How many digits follow the point in this currency."""
    return DIGITS.get(currency, 2)


def why_not_kept_in(currency: str) -> str:
    """Why sums cannot be kept in this currency; empty if they can. Currencies and their digits are those of CLDR."""
    from babel.numbers import get_currency_precision, list_currencies

    if currency not in list_currencies():
        return f"“{currency}” is no currency of ISO 4217. Enter one such as AUD, EUR or JPY."
    if get_currency_precision(currency) != digits(currency):
        return (f"{currency} has {get_currency_precision(currency)} digits after the point, and this program counts it with "
                f"{digits(currency)}: sums in it would be wrong.")
    return ""


@functools.lru_cache(maxsize=4096)
def show(minor: int, currency: str) -> str:
    """12345, 'AUD' -> 'AUD 123.45'. The code, not a sign, so that no two dollars are confused."""
    from babel.numbers import format_decimal  # not on the way to the first page

    places = digits(currency)
    sum_of_money = format_decimal(Decimal(abs(minor)).scaleb(-places), "#,##0" + ("." + "0" * places if places else ""), ENGLISH)
    return f"{currency} {'−' if minor < 0 else ''}{sum_of_money}"


def parse(text: str, currency: str) -> int:
    """What somebody typed, in minor units: '123.45', '1,234.50', '123,45'. ValueError says what is wrong."""
    plain = text.strip().removeprefix(currency).strip().replace(" ", "").replace("\u202f", "")
    if "," in plain and "." in plain:
        plain = plain.replace(",", "") if plain.rfind(".") > plain.rfind(",") else plain.replace(".", "").replace(",", ".")
    elif plain.count(",") == 1 and len(plain) - plain.find(",") - 1 != 3:
        plain = plain.replace(",", ".")
    else:
        plain = plain.replace(",", "")
    if not _AMOUNT.fullmatch(plain):  # Decimal itself takes NaN, 1_000 and the digits of every script
        raise ValueError(f"“{text}” is not an amount. Enter one such as 85 or 85.50.")
    amount = Decimal(plain)
    minor = amount.scaleb(digits(currency))
    if minor != minor.to_integral_value():
        raise ValueError(f"“{text}” has more than {digits(currency)} digits after the point.")
    if abs(minor) > MOST:
        raise ValueError(f"“{text}” is more than can be meant.")
    return int(minor)


def tax_on(net_minor: int, rate_bp: int) -> int:
    """Tax on a net sum, rate in basis points (1000 = 10 %), rounded half up to the minor unit."""
    return int((Decimal(net_minor) * rate_bp / BASIS_POINTS).to_integral_value(ROUND_HALF_UP))


def for_hours(hours: float, rate_minor: int) -> int:
    """The price of this many hours, rounded half up to the minor unit."""
    return int((Decimal(str(hours)) * rate_minor).to_integral_value(ROUND_HALF_UP))
