"""When the shop is open, as its owner writes it, and which moments that makes. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
USUAL = "Mon-Fri 09:00-12:30 13:00-17:30"  # common practice, no source: each shop writes its own
LONGEST_CLOSING = 366  # days in one line of closed days

_DAYS = re.compile(r"([a-z]{2,9})\.?(?:\s*[-–]\s*([a-z]{2,9})\.?)?", re.IGNORECASE)
_SPAN = re.compile(r"(\d{1,2})[:.](\d{2})\s*[-–]\s*(\d{1,2})[:.](\d{2})")

Span = tuple[int, int]  # minutes since midnight, by the clock on the wall


@dataclass(frozen=True)
class Opening:
    """The hours of each weekday (Monday 0), in order."""

    spans: tuple[tuple[Span, ...], ...]

    def hours(self, weekday: int) -> float:
        """Hours of work on such a day."""
        return sum(end - start for start, end in self.spans[weekday]) / 60

    @property
    def by_weekday(self) -> dict[int, float]:
        return {weekday: self.hours(weekday) for weekday in range(7)}

    def closes_after(self, moment: datetime, zone: tzinfo) -> datetime | None:
        """When the hours in which a moment lies end (UTC): for lunch, or for the day. None if the shop is closed then."""
        local = moment.astimezone(zone)
        minute = local.hour * 60 + local.minute + local.second / 60
        end = next((end for start, end in self.spans[local.weekday()] if start <= minute < end), None)
        return at_minute(local.date(), end, zone) if end is not None else None

    def opens_next(self, moment: datetime, zone: tzinfo) -> datetime | None:
        """The next moment at which it opens on the same day (UTC); None if it does not."""
        local = moment.astimezone(zone)
        minute = local.hour * 60 + local.minute
        start = next((start for start, _ in self.spans[local.weekday()] if start >= minute), None)
        return at_minute(local.date(), start, zone) if start is not None else None


def at_minute(day: date, minute: int, zone: tzinfo) -> datetime:
    """A time on the wall of a day as a moment, UTC; 24:00 is the next midnight."""
    days, rest = divmod(minute, 24 * 60)
    return datetime.combine(day + timedelta(days=days), time(rest // 60, rest % 60), zone).astimezone(UTC)


def parse_opening(text: str) -> Opening:
    """'Mon-Fri 09:00-12:30 13:00-17:30', a line for each kind of day. ValueError says what to enter."""
    spans: list[tuple[Span, ...]] = [()] * 7
    for line in (one.strip() for one in text.splitlines()):
        if not line:
            continue
        days, found = _days(line), tuple(_spans(line))
        if not found:
            raise ValueError(f"“{line}” has no hours. Enter for example {USUAL}.")
        for day in days:
            if spans[day]:
                raise ValueError(f"{WEEKDAYS[day]} stands in two lines. Enter all hours of a day in one line.")
            spans[day] = found
    if not any(spans):
        raise ValueError(f"Enter when the shop is open, for example {USUAL}.")
    return Opening(tuple(spans))


def parse_closed(text: str) -> frozenset[date]:
    """Days on which the shop is closed: one a line, or 'first to last'. ValueError says what to enter."""
    closed: set[date] = set()
    for line in (one.strip() for one in text.splitlines()):
        if not line:
            continue
        first, _, last = line.partition(" to ")
        try:
            start, end = date.fromisoformat(first.strip()), date.fromisoformat((last or first).strip())
        except ValueError:
            raise ValueError(f"“{line}” is not a day. Enter 2026-12-24, or 2026-12-24 to 2027-01-04.") from None
        if not 0 <= (end - start).days <= LONGEST_CLOSING:
            raise ValueError(f"“{line}”: enter the first day, then the last, at most a year later.")
        closed |= {start + timedelta(days=one) for one in range((end - start).days + 1)}
    return frozenset(closed)


def _days(line: str) -> list[int]:
    head = _DAYS.match(line)
    if head is None:
        raise ValueError(f"“{line}” names no day. Enter for example {USUAL}.")
    first, last = _day(head[1]), _day(head[2] or head[1])
    return [(first + one) % 7 for one in range((last - first) % 7 + 1)]


def _day(word: str) -> int:
    found = [number for number, name in enumerate(WEEKDAYS) if word[:3].lower() == name.lower()]
    if not found:
        raise ValueError(f"“{word}” is not a day of the week. Enter Mon, Tue, Wed, Thu, Fri, Sat or Sun.")
    return found[0]


def _spans(line: str) -> list[Span]:
    spans: list[Span] = []
    for hour, minute, to_hour, to_minute in _SPAN.findall(line):
        start, end = int(hour) * 60 + int(minute), int(to_hour) * 60 + int(to_minute)
        if int(minute) > 59 or int(to_minute) > 59 or end > 24 * 60 or start >= end:
            raise ValueError(f"“{line}”: enter hours from 00:00 to 24:00, each span from its start to its end.")
        if spans and start < spans[-1][1]:
            raise ValueError(f"“{line}”: each span begins after the one before it ends.")
        spans.append((start, end))
    return spans
