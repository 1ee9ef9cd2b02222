"""What stays on one line: a number with its unit, a day with its month and year, a sum with its currency. Pure."""

from __future__ import annotations

import re

_UNITS = r"(?:[pnµmkMG]?(?:V|A|Ω|F|H|W|Hz|J)|mm|cm|min|h|s|ms|°C|%|dB|Nm|VA)"
_MONTHS = (r"(?:Jan(?:uary)?|Feb(?:ruary)?|Mar(?:ch)?|Apr(?:il)?|May|June?|July?|Aug(?:ust)?|Sep(?:tember)?|Oct(?:ober)?"
           r"|Nov(?:ember)?|Dec(?:ember)?)")
_QUANTITY = re.compile(rf"(?<=\d) (?={_UNITS}(?![\w/]))")
_DAY = re.compile(rf"\b(\d{{1,2}}) ({_MONTHS}) (?=\d{{4}}\b)")
_SUM = re.compile(r"\b([A-Z]{3}) (?=[−-]?\d)")


def unbroken(text: str) -> str:
    """The text with no-break spaces where a line must not end: '47 µF', '25 Nov 2026', 'AUD 85.00'."""
    return _SUM.sub("\\1\u00a0", _DAY.sub("\\1\u00a0\\2\u00a0", _QUANTITY.sub("\u00a0", text)))
