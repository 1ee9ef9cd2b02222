"""A tally of comparisons with what stands outside the project: every `pytest.approx`, and every `within`, while one is kept.

`tests.reference.accuracy` keeps one and prints the table; in the suite nothing is kept and nothing changes.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest


@dataclass
class Tally:
    """What was compared. largest: by unit ("" is a share of the value itself) the largest error, and what was allowed there."""

    count: int = 0
    share: float = 0.0
    largest: dict[str, tuple[float, float]] = field(default_factory=dict)

    def take(self, error: float, allowed: float, unit: str) -> None:
        """One comparison that held."""
        self.count += 1
        self.share = max(self.share, error / allowed)
        self.largest[unit] = max(self.largest.get(unit, (0.0, allowed)), (error, allowed))


ABSOLUTE = "in the unit of the comparison"  # a comparison that names its room and not its unit
_kept: list[Tally] = []


def within(error: float, allowed: float, unit: str = "") -> bool:
    """Whether an error is within what is allowed; taken down where a tally is kept. unit: "" for a share of the value itself."""
    fits = bool(error <= allowed)
    if fits and _kept:
        _kept[-1].take(float(error), allowed, unit)
    return fits


@contextmanager
def kept(into: Tally) -> Iterator[Tally]:
    """Take down what is compared meanwhile; what does not hold fails its test and is not taken down."""
    scalar: Any = type(pytest.approx(1.0))
    was = scalar.__eq__

    def equal(self: Any, actual: Any) -> bool:
        fits = bool(was(self, actual))
        if fits and isinstance(actual, int | float) and self.expected and not isinstance(self.expected, complex):
            error, allowed, value = abs(float(actual) - float(self.expected)), float(self.tolerance), abs(float(self.expected))
            by_share = self.abs is None or (self.rel is not None and float(self.rel) * value >= float(self.abs))
            if allowed > 0.0 and by_share and (self.rel or 1e-6) * value >= 0.999 * allowed:
                _kept[-1].take(error / value, allowed / value, "")
            elif allowed > 0.0:
                _kept[-1].take(error, allowed, ABSOLUTE)
        return fits

    _kept.append(into)
    scalar.__eq__ = equal
    try:
        yield into
    finally:
        scalar.__eq__ = was
        _kept.pop()
