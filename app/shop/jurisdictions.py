"""The places whose dated terms and notices the program holds: their codes, and their words for the settings. Pure.

The terms themselves lie with the rooms that print them (`intake/terms`, `handover/notices`); a test holds that each set of
terms is listed here under its own title.
"""

from __future__ import annotations

PLAIN = "plain"

JURISDICTIONS: dict[str, str] = {
    "au-act": "Australian Capital Territory, Australia",
    "au-nsw": "New South Wales, Australia",
    "au-nt": "Northern Territory, Australia",
    "au-qld": "Queensland, Australia",
    "au-sa": "South Australia, Australia",
    "au-tas": "Tasmania, Australia",
    "au-vic": "Victoria, Australia",
    "au-wa": "Western Australia, Australia",
    "ca-bc": "British Columbia, Canada",
    "ca-on": "Ontario, Canada",
    "eu": "European Union, general",
    "fr": "France",
    "de": "Germany",
    "ie": "Ireland",
    "nz": "New Zealand",
    "uk-england": "England and Wales",
    "uk-ni": "Northern Ireland",
    "uk-scotland": "Scotland",
    "us-ca": "California, United States",
    "us-ny": "New York, United States",
    "us-tx": "Texas, United States",
    PLAIN: "other, or none of these: plain terms that name no law",
}


def code_of(stored: str) -> str:
    """The code as it is listed, however it was typed once; nothing at all is the plain one. An unknown one stays as it is."""
    plain = stored.strip().lower() or PLAIN
    return plain if plain in JURISDICTIONS else stored


def choices(stored: str = "") -> list[tuple[str, str]]:
    """Code and words of every choice; a stored one that is not listed comes last and says what is printed for it."""
    kept = code_of(stored)
    unlisted = [] if kept in JURISDICTIONS else [(kept, f"{kept}: no terms for it here, plain terms are printed")]
    return [*JURISDICTIONS.items(), *unlisted]
