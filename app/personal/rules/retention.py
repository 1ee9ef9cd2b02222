"""How long a paper is kept for the law of a place, and when a customer is due for erasure. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

YEAR_END = "the end of the calendar year"


@dataclass(frozen=True)
class Period:
    """What a law wants kept: which papers, how many years, counted from when. `years` is None where none was found.

    In its own words with its source, address, how that was read and when.
    """

    jurisdiction: str
    papers: tuple[str, ...]
    years: int | None
    counted_from: str
    words: str
    source: str
    address: str
    read: str
    checked: date

    @property
    def unconfirmed(self) -> bool:
        """Nobody has read it in its source."""
        return self.read != "seen"

    def until(self, on: date) -> date | None:
        """The last day on which a paper of this day is kept; None where no period is known."""
        if self.years is None:
            return None
        start = date(on.year, 12, 31) if self.counted_from == YEAR_END else on
        return years_after(start, self.years)


def years_after(day: date, years: int) -> date:
    """The same day so many years on; of a 29 February the 28th where there is none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def kept_until(periods: Iterable[Period], paper: str, on: date) -> tuple[date, Period] | None:
    """Until when a paper of this kind and day is kept by the longest period that covers it, and which that is."""
    found = [(until, one) for one in periods if paper in one.papers and (until := one.until(on)) is not None]
    return max(found, key=lambda one: one[0]) if found else None


def due_on(last: date, years: int) -> date:
    """From when on a customer is due for erasure: so many years after the last day on which the shop had to do with them."""
    return years_after(last, years)
