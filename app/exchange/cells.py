"""Cells of CSV files (RFC 4180): kept from being run as formulas by a spreadsheet, and given back as they were. Pure.

A text that begins with one of = + - @, tab, CR, LF, NUL or their wide forms gets an apostrophe in front (OWASP ASVS 5.0,
1.2.10, and the OWASP page on CSV injection). So does a text in which only apostrophes stand before such a sign: that makes the
way back exact. Numbers are not texts: -5 stays -5.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

_RISKY = re.compile("'*[=+\\-@\t\r\n\0＝＋－＠]")
_GUARDED = re.compile("'+[=+\\-@\t\r\n\0＝＋－＠]")


def guard(text: str) -> str:
    """The text as it may stand in a spreadsheet."""
    return "'" + text if _RISKY.match(text) else text


def unguard(cell: str) -> str:
    """What `guard` was given."""
    return cell[1:] if _GUARDED.match(cell) else cell


class _Nothing(float):
    """What the csv module writes as an empty cell without quotes: to it this is a number, and numbers are not quoted."""

    def __str__(self) -> str:
        return ""


_NOTHING = _Nothing()


def line(values: Iterable[Any]) -> str:
    """One CSV line with CR LF: texts in quotes, numbers without. None is an empty cell, an empty text is two quotes."""
    written = io.StringIO()
    csv.writer(written, quoting=csv.QUOTE_NONNUMERIC).writerow(map(_cell, values))
    return written.getvalue()


def _cell(value: Any) -> Any:
    if value is None:
        return _NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return value
    if isinstance(value, datetime | date):
        return value.isoformat()
    return guard(value if isinstance(value, str) else json.dumps(value, ensure_ascii=False))
