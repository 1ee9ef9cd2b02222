"""How many of the amps that left repaired came back. Pure.

Counted within a time of its own: an amp that left last week has had no time to come back, and would make the rate look better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.estimating.history import Interval, wilson

WINDOW = 90  # days. Common practice, no source.


@dataclass(frozen=True)
class Left:
    """One amp that left repaired: by which repair, on which day; if it came back, by which repair, when, and what was found."""

    number: int
    order_id: int
    left_on: date
    back_number: int | None = None
    back_order_id: int | None = None
    back_on: date | None = None
    found: str = ""

    @property
    def days(self) -> int | None:
        """Days until it came back."""
        return (self.back_on - self.left_on).days if self.back_on else None

    def observed(self, today: date) -> bool:
        """Whether it has been out for the whole window."""
        return (today - self.left_on).days >= WINDOW

    @property
    def came_back(self) -> bool:
        """Within the window."""
        return self.days is not None and self.days <= WINDOW


@dataclass(frozen=True)
class ComeBacks:
    """Of `n` that have been out for the window, `back` came back within it. Of `younger` that left later, `younger_back` did so
    far.
    """

    n: int
    back: int
    younger: int
    younger_back: int

    @property
    def share(self) -> float | None:
        return self.back / self.n if self.n else None

    @property
    def interval(self) -> Interval | None:
        """Between which the true share lies (95 %), by Wilson's formula."""
        return wilson(self.back, self.n) if self.n else None


def come_backs(left: Sequence[Left], today: date) -> ComeBacks:
    """Counted."""
    whole = [one for one in left if one.observed(today)]
    younger = [one for one in left if not one.observed(today)]
    return ComeBacks(len(whole), sum(one.came_back for one in whole), len(younger), sum(one.came_back for one in younger))
