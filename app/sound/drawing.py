"""Curves of two recordings in one drawing, as found and as left, for screen and paper alike. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.sound.rules import Curve, SoundKind

WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 640.0, 260.0, 56.0, 12.0, 12.0, 34.0
LEAST_DB = 12.0  # a drawing never makes less than this look like much


@dataclass(frozen=True)
class Tick:
    """A line of the grid: where, and what it says."""

    at: float
    words: str


@dataclass(frozen=True)
class SoundChart:
    """Two paths (empty where there is none), the grid, and the words of both axes."""

    found: str
    left: str
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    across_words: str
    up_words: str
    width: float = WIDTH
    height: float = HEIGHT


def draw(kind: SoundKind, found: Curve, left: Curve) -> SoundChart | None:
    """The chart of what there is; None of nothing."""
    every = [*found, *left]
    if not every:
        return None
    by_decade = kind in (SoundKind.NOISE, SoundKind.SWEEP)
    low, high = min(x for x, _ in every), max(x for x, _ in every)
    if not by_decade:
        low = 0.0
    high = high if high > low else low + 1.0
    down, top = min(y for _, y in every), max(y for _, y in every)
    step = _step(max(top - down, LEAST_DB if by_decade else 0.1))
    if not by_decade:
        down = 0.0
    down, top = math.floor(down / step) * step, math.ceil(top / step + 1e-9) * step
    top = top if top > down else down + step

    def x_of(value: float) -> float:
        share = math.log(value / low) / math.log(high / low) if by_decade else (value - low) / (high - low)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y_of(value: float) -> float:
        return round(HEIGHT - BOTTOM - (value - down) / (top - down) * (HEIGHT - BOTTOM - TOP), 1)

    def path(curve: Curve) -> str:
        return "".join(f"{'L' if place else 'M'}{x_of(x)} {y_of(y)}" for place, (x, y) in enumerate(curve))

    marks = [1.0, 2.0, 5.0]
    ticks = [m * 10**e for e in range(1, 5) for m in marks if low <= m * 10**e <= high] if by_decade else \
        [place * _step(high) for place in range(int(high / _step(high)) + 1)]
    rows = [down + place * step for place in range(round((top - down) / step) + 1)]
    across, up = kind.axes
    return SoundChart(path(found), path(left), tuple(Tick(x_of(one), _said(one)) for one in ticks),
                      tuple(Tick(y_of(one), f"{one:g}".replace("-", "−")) for one in rows), across, up)


def _said(value: float) -> str:
    return f"{value / 1000:g}k" if value >= 1000 else f"{round(value, 6):g}"


def _step(span: float) -> float:
    """A round step that makes four to ten rows of a span."""
    rough = span / 6
    power = 10.0 ** math.floor(math.log10(rough))
    return next(one * power for one in (1, 2, 5, 10) if one * power >= rough)
