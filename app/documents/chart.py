"""Readings of different sizes on one scale: where each lies in its own band, as found and as left. Pure.

Every row is drawn from its own expected value: 0 is expected, −1 and 1 are the ends of its band. What lies further out than
the drawing shows is drawn at the edge as an arrow. Many readings make several drawings, each of which fits on a sheet.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

EDGE = 2.6  # in half bands
WIDTH, LEFT, ROW, TOP = 640.0, 250.0, 24.0, 8.0
MOST_ROWS = 25
MOST_HEIGHT = 780.0  # 215 mm of the 239 that a sheet has, in the drawing's units
WORD, LINE, ROOM = 14.0, 16.0, 236.0  # size of the words, from line to line, and how wide a name may be


@dataclass(frozen=True)
class Given:
    """One point: its limits and its two readings in one unit, None where there is none."""

    name: str
    lower: float | None
    expected: float | None
    upper: float | None
    found: float | None
    left: float | None


@dataclass(frozen=True)
class Mark:
    """Where a reading is drawn; `off` is −1 or 1 when it lies beyond the edge on that side."""

    x: float
    off: int


@dataclass(frozen=True)
class Line:
    """One row of the drawing: its name in lines that fit, each with its height, and its marks."""

    name: str
    y: float
    words: tuple[tuple[float, str], ...]
    found: Mark | None
    left: Mark | None


@dataclass(frozen=True)
class Chart:
    """One drawing: its size, the shaded band, the middle, its rows; which of how many it is."""

    width: float
    height: float
    band_from: float
    band_to: float
    middle: float
    lines: tuple[Line, ...]
    number: int
    of: int


def draw(given: Iterable[Given]) -> tuple[Chart, ...]:
    """The charts of every point that has both limits and a reading; none if there is none."""
    rows = [one for one in given if one.lower is not None and one.upper is not None and one.upper > one.lower
            and (one.found is not None or one.left is not None)]
    sheets = list(_sheets(rows))
    return tuple(_chart(each, place + 1, len(sheets)) for place, each in enumerate(sheets))


def wrapped(name: str) -> tuple[str, ...]:
    """A name in lines that are no wider than there is room, broken at blanks, and within a word only if it is too long."""
    lines, line = [], ""
    for word in name.split():
        while _wide(word) > ROOM:
            cut = next(at for at in range(len(word) - 1, 0, -1) if _wide(word[:at]) <= ROOM or at == 1)
            lines += [line] if line else []
            lines.append(word[:cut])
            line, word = "", word[cut:]
        longer = f"{line} {word}".strip()
        if line and _wide(longer) > ROOM:
            lines.append(line)
            longer = word
        line = longer
    return tuple([*lines, line] if line else lines)


def _wide(text: str) -> float:
    """How wide a text is at most; a generous guess, tested against the typeface that is used."""
    return WORD * sum(1.05 if unicodedata.east_asian_width(sign) in "WF" else 0.0 if unicodedata.combining(sign)
                      else 0.98 if sign in "mwMW@%—…" else 0.76 if sign.isupper() or not sign.isascii() else 0.62
                      for sign in text)


def _high(one: Given) -> float:
    return max(ROW, LINE * len(wrapped(one.name)) + 8)


def _sheets(rows: list[Given]) -> Iterator[list[Given]]:
    sheet: list[Given] = []
    for one in rows:
        if sheet and (len(sheet) == MOST_ROWS or sum(map(_high, [*sheet, one])) > MOST_HEIGHT):
            yield sheet
            sheet = []
        sheet.append(one)
    if sheet:
        yield sheet


def _chart(rows: list[Given], number: int, of: int) -> Chart:
    lines, top = [], TOP
    for one in rows:
        high, words = _high(one), wrapped(one.name)
        y = top + high / 2
        first = y + 5 - LINE * (len(words) - 1) / 2
        lines.append(Line(one.name, round(y, 1), tuple((round(first + LINE * at, 1), said) for at, said in enumerate(words)),
                          _mark(one, one.found), _mark(one, one.left)))
        top += high
    return Chart(WIDTH, round(top + TOP, 1), round(_x(-1), 1), round(_x(1), 1), round(_x(0), 1), tuple(lines), number, of)


def _mark(one: Given, value: float | None) -> Mark | None:
    if value is None or one.lower is None or one.upper is None:
        return None
    middle = one.expected if one.expected is not None and one.lower < one.expected < one.upper else (one.lower + one.upper) / 2
    half = (one.upper - middle) if value >= middle else (middle - one.lower)
    place = (value - middle) / half
    off = 1 if place > EDGE else -1 if place < -EDGE else 0
    return Mark(round(_x(max(-EDGE, min(EDGE, place))), 1), off)


def _x(place: float) -> float:
    """Half bands to the drawing's own units."""
    across = WIDTH - LEFT - 16
    return LEFT + across / 2 + place * across / 2 / (EDGE + 0.1)
