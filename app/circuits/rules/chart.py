"""As found and as left in one chart: how far each node is from what it should read, in half-bands. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.circuits.rules.compare import Held, Row

WIDTH, LEFT, RIGHT, TOP, PITCH = 640, 190, 620, 34, 34
ENDS = 3.0  # half-bands to either side; what lies beyond is drawn as an arrow at the edge


@dataclass(frozen=True)
class Mark:
    """One reading on the chart: where, whether beyond its edge (-1, 0, 1), and its verdict's sign."""

    x: float
    beyond: int
    sign: str
    off: float


@dataclass(frozen=True)
class Bar:
    """One node's line: its middle, and its two readings where there are any."""

    node: str
    y: float
    as_found: Mark | None
    as_left: Mark | None


@dataclass(frozen=True)
class Chart:
    """The chart's bars; grid: (x, half-bands) of its upright lines; low and high: the edges of the band."""

    bars: tuple[Bar, ...]
    height: float
    grid: tuple[tuple[float, int], ...]
    low: float
    high: float

    @property
    def width(self) -> int:
        """In the units of the drawing."""
        return WIDTH


def chart(rows: Iterable[Row]) -> Chart:
    """The chart of every node that was read and has a band."""
    read = [row for row in rows if any(held is not None and held.off is not None for held in (row.as_found, row.as_left))]
    bars = tuple(Bar(row.node, TOP + PITCH * (place + 0.5), _mark(row.as_found), _mark(row.as_left))
                 for place, row in enumerate(read))
    return Chart(bars, TOP + PITCH * len(bars) + 8, tuple((_x(at), at) for at in (-3, -2, -1, 0, 1, 2, 3)), _x(-1), _x(1))


def _x(off: float) -> float:
    return LEFT + (off + ENDS) / (2 * ENDS) * (RIGHT - LEFT)


def _mark(held: Held | None) -> Mark | None:
    if held is None or held.off is None:
        return None
    beyond = (held.off > ENDS) - (held.off < -ENDS)
    return Mark(round(_x(max(-ENDS, min(ENDS, held.off))), 1), beyond, held.verdict.sign, held.off)
