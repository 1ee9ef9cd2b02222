"""Where the shop is, as other people's tables name it: country by ISO 3166, language and form by BCP 47. Pure."""

from __future__ import annotations

import functools

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
