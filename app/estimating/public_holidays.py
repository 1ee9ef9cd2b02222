"""Public holidays of the place where a shop works, as days on which no work is done. By the library holidays, which is loaded late.

Of a country with regions only what is kept in the named region, and everywhere, counts. The tables say what the law of a year says;
a day that is decreed late is not in them until the library is renewed, and a shop may close on further days.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from datetime import date

# Jurisdictions of the settings → country and region (ISO 3166-1 and -2).
PLACES: dict[str, tuple[str, str | None]] = {
    "au-act": ("AU", "ACT"), "au-nsw": ("AU", "NSW"), "au-nt": ("AU", "NT"), "au-qld": ("AU", "QLD"), "au-sa": ("AU", "SA"),
    "au-tas": ("AU", "TAS"), "au-vic": ("AU", "VIC"), "au-wa": ("AU", "WA"), "ca-bc": ("CA", "BC"), "ca-on": ("CA", "ON"),
    "de": ("DE", None), "fr": ("FR", None), "ie": ("IE", None), "nz": ("NZ", None), "uk-england": ("GB", "ENG"),
    "uk-ni": ("GB", "NIR"), "uk-scotland": ("GB", "SCT"), "us-ca": ("US", "CA"), "us-ny": ("US", "NY"), "us-tx": ("US", "TX"),
}


def public_holidays(jurisdiction: str, years: Iterable[int], country: str | None = None) -> frozenset[date]:
    """The public holidays of these years; none where neither the jurisdiction nor `country` (ISO 3166-1) names a known place."""
    where: tuple[str | None, str | None] = PLACES.get(jurisdiction.strip().lower()) or (country, None)
    return frozenset().union(*(_in_year(where, year) for year in years))


@functools.cache
def _in_year(where: tuple[str | None, str | None], year: int) -> frozenset[date]:
    from holidays import country_holidays

    country, region = where
    if country is None:
        return frozenset()
    try:
        return frozenset(country_holidays(country, subdiv=region, years=year))
    except NotImplementedError:  # the library's word for a country that it does not know
        return frozenset()
