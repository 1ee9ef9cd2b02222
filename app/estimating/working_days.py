"""The shop's working calendar: hours of work against days."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from app.estimating.errors import EstimateError, number

_FARTHEST_DAYS = 20 * 366


@dataclass
class Calendar:
    """Working hours of each day from `first` on. Time is counted in hours of work since the first day began.

    `by_weekday`: hours of work by weekday (Monday 0). `closed`: days without work. A working day begins at
    `opens` hours after midnight; drying goes on day and night.
    """

    first: date
    by_weekday: Mapping[int, float]
    closed: Collection[date] = ()
    opens: float = 9.0

    def __post_init__(self) -> None:
        self._before = [0.0]
        self._hours: list[float] = []

    def _grow(self) -> None:
        if len(self._hours) >= _FARTHEST_DAYS:
            raise EstimateError("queue", "more work than twenty years hold", "work that comes to an end")
        day = self.first + timedelta(days=len(self._hours))
        worked = 0.0 if day in self.closed else self.by_weekday.get(day.weekday(), 0.0)
        self._hours.append(worked)
        self._before.append(self._before[-1] + worked)

    def day_of(self, worked: float) -> int:
        """Number of the day on which the hour of work falls; what ends exactly at closing time is that day's."""
        while self._before[-1] < worked:
            self._grow()
        index = bisect_right(self._before, worked - 1e-9) - 1
        return max(index, 0)

    def at_day(self, index: int) -> float:
        """Hours of work before a day begins."""
        while len(self._before) <= index:
            self._grow()
        return self._before[max(index, 0)]

    def clock(self, worked: float) -> float:
        """Hours by the clock since midnight of the first day at which the hour of work is over."""
        day = self.day_of(worked)
        return 24.0 * day + self.opens + worked - self.at_day(day)

    def work_at(self, clock: float) -> float:
        """Hours of work done when the clock says so many hours since midnight of the first day."""
        day = int(clock // 24)
        into = min(max(clock - 24.0 * day - self.opens, 0.0), self.at_day(day + 1) - self.at_day(day))
        return self.at_day(day) + into


def calendar(
    today: date,
    hours_per_day: float | Mapping[int, float],
    closed: Collection[date] = (),
) -> Calendar:
    """A calendar from today on: hours on Monday to Friday, or hours by weekday (Monday 0), 24 at the most."""
    if isinstance(today, datetime) or not isinstance(today, date):
        raise EstimateError("today", today, "a date")
    given = hours_per_day if isinstance(hours_per_day, Mapping) else dict.fromkeys(range(5), hours_per_day)
    by_weekday = {weekday: number("hours_per_day", worked) for weekday, worked in given.items()}
    in_range = all(0.0 <= worked <= 24.0 for worked in by_weekday.values())
    if not set(by_weekday) <= set(range(7)) or not in_range or not any(by_weekday.values()):
        raise EstimateError("hours_per_day", hours_per_day, "above zero and up to 24, by weekday 0 to 6")
    opens = min(9.0, 24.0 - max(by_weekday.values()))
    return Calendar(today, by_weekday, frozenset(closed), opens)
