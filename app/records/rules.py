"""Text made alike for searching. Pure."""

from __future__ import annotations

import re
import unicodedata


def searchable(*parts: str) -> str:
    """Text to search through: small letters, no accents, long numbers without their gaps as well."""
    numbers = [re.sub(r"\D", "", part) for part in parts]
    return " ".join([_plain(" ".join(part for part in parts if part)), *(one for one in numbers if len(one) > 4)])


def search_words(typed: str) -> list[str]:
    """The words of a search, made alike to what `searchable` keeps; at most six."""
    return _plain(typed).split()[:6]


def _plain(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
