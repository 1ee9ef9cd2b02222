"""Readings of different sizes on one scale: where each lies in its own band, as found and as left. Pure.

Every row is drawn from its own expected value: 0 is expected, −1 and 1 are the ends of its band. What lies further out than
the drawing shows is drawn at the edge as an arrow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

EDGE = 2.6  # in half bands
WIDTH, LEFT, ROW, TOP = 640.0, 190.0, 24.0, 8.0


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
    """One row of the drawing. `words` say the same."""

    name: str
    y: float
    found: Mark | None
    left: Mark | None


@dataclass(frozen=True)
class Chart:
    """The drawing: its size, the shaded band, the middle, its rows."""

    width: float
    height: float
    band_from: float
    band_to: float
    middle: float
    lines: tuple[Line, ...]


def draw(given: Iterable[Given]) -> Chart | None:
    """The chart of every point that has both limits and a reading; None if there is none."""
    rows = [one for one in given if one.lower is not None and one.upper is not None and one.upper > one.lower
            and (one.found is not None or one.left is not None)]
    if not rows:
        return None
    lines = tuple(Line(one.name, TOP + ROW * (place + 0.5), _mark(one, one.found), _mark(one, one.left))
                  for place, one in enumerate(rows))
    return Chart(WIDTH, TOP * 2 + ROW * len(rows), round(_x(-1), 1), round(_x(1), 1), round(_x(0), 1), lines)


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
