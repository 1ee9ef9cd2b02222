"""The days that are looked at. Pure."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from app.errors import BadInput
from app.shop.opening_hours import at_minute

LONGEST = 3660  # days: ten years
EARLIEST, LATEST = 1900, 2199  # years: beyond the calendar's ends there is no next day, and no moment in another zone


@dataclass(frozen=True)
class Period:
    """From one day to another, both included, in the shop's zone."""

    first: date
    last: date

    def begins(self, zone: tzinfo) -> datetime:
        """Its first moment, UTC."""
        return at_minute(self.first, 0, zone)

    def ends(self, zone: tzinfo) -> datetime:
        """The first moment after it, UTC."""
        return at_minute(self.last, 24 * 60, zone)

    @property
    def months(self) -> tuple[date, ...]:
        """The first day of each month that has a day in it."""
        found, month = [], self.first.replace(day=1)
        while month <= self.last:
            found.append(month)
            month = next_month(month)
        return tuple(found)


def next_month(day: date) -> date:
    """The first day of the month after this day's."""
    return day.replace(day=1) + timedelta(days=calendar.monthrange(day.year, day.month)[1])


def usual(today: date) -> Period:
    """Twelve months: this one so far, and the eleven before it."""
    return Period(date(today.year - (today.month < 12), today.month % 12 + 1, 1), today)


def choices(today: date) -> dict[str, Period]:
    """What can be chosen by one link, by its words."""
    this = today.replace(day=1)
    before = this - timedelta(days=1)
    return {"This month": Period(this, today), "Last month": Period(before.replace(day=1), before),
            "Twelve months": usual(today), "This year": Period(date(today.year, 1, 1), today),
            "Last year": Period(date(today.year - 1, 1, 1), date(today.year - 1, 12, 31))}


def chosen(first: str, last: str, today: date) -> Period:
    """The period that was entered, the usual one where nothing was. BadInput beside the field that is wrong."""
    standing = usual(today)
    start = _day(first, "first") if first.strip() else standing.first
    end = _day(last, "last") if last.strip() else standing.last
    if end < start:
        raise BadInput("The last day is before the first. Enter a later one.", "last")
    if (end - start).days > LONGEST:
        raise BadInput("Enter a period of at most ten years.", "first")
    return Period(start, end)


def _day(text: str, field: str) -> date:
    try:
        found = date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"“{text.strip()[:40]}” is not a day. Enter a day such as 2026-11-25.", field) from None
    if not EARLIEST <= found.year <= LATEST:
        raise BadInput(f"Enter a day from {EARLIEST} to {LATEST}.", field)
    return found
