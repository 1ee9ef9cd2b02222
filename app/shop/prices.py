"""The price list beside the usual rate: further labour rates, and what is put on parts by what they cost. Pure.

Both are written one a line, as people write them:

    Microscopic work: 120, at least 60        a rate an hour; a minimum charge for an item at this rate, if there is one
    from 0: 60 %                              what is put on a part that costs so much or more
    from 200: 25 %

Sums are in smallest coins; they are meant as the shop's prices are, before tax or with it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from app.kernel.money import parse

MOST_RATES, MOST_BANDS = 20, 20
LONGEST_NAME = 40
MOST_PERCENT = Decimal(1000)
_RATE = re.compile(r"(?P<name>[^:]+):(?P<rate>.+?)(?:[,;]\s*at least(?P<least>.+))?", re.IGNORECASE)
_BAND = re.compile(r"from\s+(?P<sum>[^:]+):\s*(?P<percent>[0-9]{1,4}(?:[.,][0-9]{1,2})?)\s*%?", re.IGNORECASE)
USUAL = "Microscopic work: 120, at least 60"
USUAL_BAND = "from 50: 40 %"


@dataclass(frozen=True)
class Rate:
    """A labour rate: what it is called, an hour, and the least that an item at it is charged for labour."""

    name: str
    minor: int
    least_minor: int = 0


@dataclass(frozen=True)
class Band:
    """What is put on parts that cost `from_minor` or more, in percent."""

    from_minor: int
    percent: Decimal


def parse_rates(text: str, currency: str) -> tuple[Rate, ...]:
    """Each line a rate. ValueError says what to enter."""
    found: list[Rate] = []
    for line in (one.strip() for one in text.splitlines()):
        if not line:
            continue
        read = _RATE.fullmatch(line)
        if read is None:
            raise ValueError(f"“{line}” is not a rate. Enter for example {USUAL}.")
        name = " ".join(read["name"].split())
        if len(name) > LONGEST_NAME:
            raise ValueError(f"“{name}”: give the rate a name of at most {LONGEST_NAME} letters.")
        if name.casefold() in {one.name.casefold() for one in found}:
            raise ValueError(f"“{name}” stands there twice.")
        found.append(Rate(name, _sum(read["rate"], currency), _sum(read["least"] or "0", currency)))
    if len(found) > MOST_RATES:
        raise ValueError(f"Enter at most {MOST_RATES} rates.")
    return tuple(found)


def parse_bands(text: str, currency: str) -> tuple[Band, ...]:
    """Each line a band, by their sums. ValueError says what to enter."""
    found: list[Band] = []
    for line in (one.strip() for one in text.splitlines()):
        if not line:
            continue
        read = _BAND.fullmatch(line)
        if read is None:
            raise ValueError(f"“{line}” is not a markup. Enter for example {USUAL_BAND}.")
        found.append(Band(_sum(read["sum"], currency), Decimal(read["percent"].replace(",", "."))))
    if len({one.from_minor for one in found}) < len(found):
        raise ValueError("Two lines begin at the same sum.")
    if any(one.percent > MOST_PERCENT for one in found):
        raise ValueError(f"Enter at most {MOST_PERCENT} %.")
    if len(found) > MOST_BANDS:
        raise ValueError(f"Enter at most {MOST_BANDS} lines.")
    return tuple(sorted(found, key=lambda one: one.from_minor))


def price_of_parts(cost_minor: int, bands: Sequence[Band]) -> int:
    """What parts that cost so much are charged at: the cost and the markup of its band, rounded half up; no band adds nothing."""
    percent = max((one for one in bands if one.from_minor <= cost_minor), key=lambda one: one.from_minor,
                  default=Band(0, Decimal(0))).percent
    return int((Decimal(cost_minor) * (100 + percent) / 100).to_integral_value(ROUND_HALF_UP))


def _sum(text: str, currency: str) -> int:
    minor = parse(text, currency)
    if minor < 0:
        raise ValueError(f"“{text.strip()}” is less than nothing.")
    return minor
