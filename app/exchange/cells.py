"""Cells of CSV files (RFC 4180): kept from being run as formulas by a spreadsheet, and given back as they were. Pure.

A text that begins with one of = + - @, tab, CR, LF, NUL or their wide forms gets an apostrophe in front (OWASP ASVS 5.0,
1.2.10, and the OWASP page on CSV injection). So does a text in which only apostrophes stand before such a sign: that makes the
way back exact. Numbers are not texts: -5 stays -5.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

_RISKY = re.compile("'*[=+\\-@\t\r\n\0＝＋－＠]")
_GUARDED = re.compile("'+[=+\\-@\t\r\n\0＝＋－＠]")
_QUOTED = re.compile('[",\r\n]|^$|^ | $')


def guard(text: str) -> str:
    """The text as it may stand in a spreadsheet."""
    return "'" + text if _RISKY.match(text) else text


def unguard(cell: str) -> str:
    """What `guard` was given."""
    return cell[1:] if _GUARDED.match(cell) else cell


def line(values: Iterable[Any]) -> str:
    """One CSV line with CR LF. None is an empty cell, an empty text is two quotes."""
    return ",".join(map(_cell, values)) + "\r\n"


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return str(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    text = guard(value if isinstance(value, str) else json.dumps(value, ensure_ascii=False))
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text
