"""Days, moments and plurals in English as a country writes them: Unicode CLDR, by Babel, which is loaded late. Pure.

Every day carries its year. The clock counts to 24 everywhere: "2:03" in a bench log is no time. Numbers keep the decimal point
and the comma between thousands, whatever the country: readings are written so, and one page cannot have both.
"""

from __future__ import annotations

import functools
from datetime import date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel import Locale

ENGLISH = "en_001"  # English as the world writes it: CLDR's own name


@functools.cache
def locale_of(country: str | None) -> str:
    """The English of this country (ISO 3166): 'US' → 'en_US'; 'en_001' where CLDR knows none."""
    from babel.localedata import exists

    return f"en_{country}" if country and exists(f"en_{country}") else ENGLISH


def day(value: date, locale: str = ENGLISH) -> str:
    """'25 Nov 2026'; in the United States 'Nov 25, 2026'. Of a moment, its day there."""
    return _date(_day_of(value), "medium", locale)


def long_day(value: date, locale: str = ENGLISH) -> str:
    """'25 November 2026', 'November 25, 2026'."""
    return _date(_day_of(value), "long", locale)


def moment(value: datetime, locale: str = ENGLISH) -> str:
    """'25 Nov 2026, 14:03': the moment as it is given, in its own zone."""
    return f"{day(value, locale)}, {clock(value)}"


def clock(value: datetime) -> str:
    """'14:03'."""
    return f"{value:%H:%M}"


def plural(number: int, one: str, many: str = "") -> str:
    """The form of a word that goes with this number: 'part' or 'parts'. `many` where it is not `one` with an s."""
    return one if _english().plural_form(number) == "one" else many or f"{one}s"


def counted(number: int, one: str, many: str = "") -> str:
    """The number with the word: '1 part', '3 parts', '0 parts'."""
    return f"{number} {plural(number, one, many)}"


def _day_of(value: date) -> date:
    return value.date() if isinstance(value, datetime) else value


@functools.lru_cache(maxsize=4096)  # a page shows the same few days again and again
def _date(value: date, form: str, locale: str) -> str:
    from babel.dates import format_date

    return format_date(value, form, locale=locale)


@functools.cache
def _english() -> Locale:
    from babel import Locale

    return Locale("en")
