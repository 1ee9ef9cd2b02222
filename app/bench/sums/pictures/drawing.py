"""Paper, pen and axes: shapes in picture units (480 wide), named by ink, and a frame that maps values on to them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from app.electrics import show

Anchor = Literal["start", "middle", "end"]
WIDE = 480.0
LETTER = 9.2  # about the width of one letter of the picture's text


@dataclass(frozen=True)
class Line:
    """A path; ink names its colour and weight, filled says whether it closes an area."""

    d: str
    ink: str
    filled: bool = False


@dataclass(frozen=True)
class Dot:
    """A point to look at."""

    x: float
    y: float
    ink: str
    r: float = 6.0


@dataclass(frozen=True)
class Box:
    """A rectangle; `colour` only where the colour is the message, as on a resistor's band."""

    x: float
    y: float
    w: float
    h: float
    ink: str
    colour: str = ""


@dataclass(frozen=True)
class Word:
    """A few words; halo keeps them legible on lines."""

    x: float
    y: float
    text: str
    ink: str = "soft"
    anchor: Anchor = "start"


Item = Line | Dot | Box | Word


@dataclass(frozen=True)
class Picture:
    """A drawing with the sentence that stands for it where it cannot be seen."""

    title: str
    alt: str
    height: float
    items: tuple[Item, ...]


def path(points: Iterable[tuple[float, float]]) -> str:
    """Straight from point to point."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def nice_step(span: float, about: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides `span` into about so many parts."""
    raw = span / about
    power = 10.0 ** math.floor(math.log10(raw))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw * 0.999)


def ticks(low: float, high: float, about: int) -> list[float]:
    """Round values from low to high."""
    step = nice_step(high - low, about)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [number * step for number in range(first, last + 1)]


@dataclass(frozen=True)
class Frame:
    """A plotting field: ranges of the values, units of the axes, and where it lies on the paper."""

    x: tuple[float, float]
    y: tuple[float, float]
    x_unit: str
    y_unit: str
    left: float = 74.0
    top: float = 14.0
    right: float = 466.0
    bottom: float = 250.0

    def px(self, value: float) -> float:
        return self.left + (value - self.x[0]) / (self.x[1] - self.x[0]) * (self.right - self.left)

    def py(self, value: float) -> float:
        return self.bottom - (value - self.y[0]) / (self.y[1] - self.y[0]) * (self.bottom - self.top)

    def curve(self, xs: Sequence[float], ys: Sequence[float], ink: str) -> list[Item]:
        """A curve, cut where it leaves the field."""
        runs: list[list[tuple[float, float]]] = [[]]
        for x, y in zip(xs, ys, strict=True):
            if self.x[0] <= x <= self.x[1] and self.y[0] <= y <= self.y[1]:
                runs[-1].append((self.px(x), self.py(y)))
            elif runs[-1]:
                runs.append([])
        return [Line(path(run), ink) for run in runs if len(run) > 1]

    def level(self, y: float, ink: str) -> Line:
        """A line across at a value of y."""
        return Line(path([(self.left, self.py(y)), (self.right, self.py(y))]), ink)

    def upright(self, x: float, ink: str) -> Line:
        """A line up at a value of x."""
        return Line(path([(self.px(x), self.top), (self.px(x), self.bottom)]), ink)

    def axes(self, *, x_about: int = 4, y_about: int = 4) -> list[Item]:
        """The two axes, hairlines at round values, and their figures."""
        found: list[Item] = []
        for value in ticks(*self.y, y_about):
            found += [self.level(value, "hair"), Word(self.left - 8, self.py(value) + 6, show(value, self.y_unit), "soft", "end")]
        shown = ticks(*self.x, x_about)
        for value in shown:
            anchor: Anchor = "end" if self.px(value) > WIDE - 40 else "middle"
            found += [Line(path([(self.px(value), self.bottom), (self.px(value), self.bottom + 6)]), "axis"),
                      Word(self.px(value), self.bottom + 25, show(value, self.x_unit), "soft", anchor)]
        found += [Line(path([(self.left, self.top), (self.left, self.bottom), (self.right, self.bottom)]), "axis")]
        return found
