"""What stays on one line: a number and its unit, a day with month and year, a sum and its currency, a number of a paper. Pure."""

from __future__ import annotations

import re

_UNITS = r"(?:[pnµmkMG]?(?:V|A|Ω|F|H|W|Hz|J)|mm²|mm|cm|m|min|h|s|ms|°C|%|dB|Nm|VA)"
_MONTHS = (r"(?:Jan(?:uary)?|Feb(?:ruary)?|Mar(?:ch)?|Apr(?:il)?|May|June?|July?|Aug(?:ust)?|Sept?(?:ember)?|Oct(?:ober)?"
           r"|Nov(?:ember)?|Dec(?:ember)?)")
_QUANTITY = re.compile(rf"(?<=\d) (?={_UNITS}(?![\w/]))")
_DAY = re.compile(rf"\b(\d{{1,2}}) ({_MONTHS}) (?=\d{{4}}\b)")
_DAY_SECOND = re.compile(rf"\b({_MONTHS}) (\d{{1,2}}, )(?=\d{{4}}\b)")
_SUM = re.compile(r"\b([A-Z]{3}) (?=[−-]?\d)")
_NUMBERED = re.compile(r"\b([Rr]epair|[Rr]evision|[Nn]otice) (?=\d)")


def unbroken(text: str) -> str:
    """The text with no-break spaces where a line must not end: '47 µF', '25 Nov 2026', 'AUD 85.00', 'repair 1012'."""
    days = _DAY_SECOND.sub(_joined, _DAY.sub("\\1\u00a0\\2\u00a0", _QUANTITY.sub("\u00a0", text)))
    return _NUMBERED.sub("\\1\u00a0", _SUM.sub("\\1\u00a0", days))


def _joined(found: re.Match[str]) -> str:
    """A day with the month before it: 'Nov 25, 2026'."""
    return found.group().replace(" ", "\u00a0")
