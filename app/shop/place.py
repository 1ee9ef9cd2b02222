"""Where the shop is, as other people's tables name it: country by ISO 3166, time zone by the IANA's table. Pure.

Countries and their zones are those of the tz database (iso3166.tab, zone.tab), names those of Unicode CLDR.
"""

from __future__ import annotations

import functools
from importlib import resources

# The first part of a jurisdiction's code that names one country.
COUNTRIES = {"au": "AU", "ca": "CA", "de": "DE", "fr": "FR", "ie": "IE", "nz": "NZ", "uk": "GB", "us": "US"}


@functools.cache
def country_of(jurisdiction: str, time_zone: str) -> str | None:
    """'AU' for 'au-nsw'; where the jurisdiction names no one country, that of the time zone (Unicode CLDR); else None."""
    if named := COUNTRIES.get(jurisdiction.split("-")[0].lower()):
        return named
    from babel.core import get_global  # not on the way to the first page

    found: str | None = get_global("zone_territories").get(time_zone)
    return found if found and found != "001" else None


@functools.cache
def countries() -> dict[str, str]:
    """Every country by its ISO 3166 code, with its English name, by name."""
    from babel import Locale

    names = Locale("en").territories
    found = {code: str(names.get(code, name)) for code, name in _table("iso3166.tab")}
    return dict(sorted(found.items(), key=lambda one: one[1].casefold()))


@functools.cache
def zones() -> dict[str, str]:
    """Every time zone of a country by its IANA name, said as 'Australia: Sydney', by country."""
    names = countries()
    found = {zone: f"{names[code]}: {zone.split('/', 1)[-1].replace('_', ' ').replace('/', ', ')}"
             for code, _, zone, *_ in _table("zone.tab")}
    return dict(sorted(found.items(), key=lambda one: one[1].casefold()))


def why_not_there(jurisdiction: str, country: str) -> str:
    """Why a shop in this country cannot stand under this law; empty if it can, or if neither names one country."""
    named = COUNTRIES.get(jurisdiction.split("-")[0].lower())
    if not country or named in (None, country):
        return ""
    return f"This jurisdiction lies in {countries()[str(named)]}. Choose that country, or another jurisdiction."


def _table(name: str) -> list[list[str]]:
    """The rows of one table of the tz database, split at tabs, without its remarks."""
    text = (resources.files("tzdata") / "zoneinfo" / name).read_text(encoding="utf-8")
    return [row.split("\t") for row in text.splitlines() if row and not row.startswith("#")]
