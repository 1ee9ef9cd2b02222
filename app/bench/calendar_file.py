"""What is due as a calendar file: RFC 5545, one event a thing, in UTC or as whole days, each under an id that stays. Pure."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

PRODUCT = "-//Tagstrip//What is due//EN"
MOST_OCTETS = 75  # RFC 5545, 3.1: a line is not longer, its end not counted


@dataclass(frozen=True)
class Event:
    """One thing: an id that names it for good within `shop`, its day, its moment if it has one, and what it is."""

    key: str
    on: date
    at: datetime | None
    summary: str
    description: str = ""


def calendar(events: Iterable[Event], shop: str, name: str, now: datetime) -> bytes:
    """The file's bytes. `shop` tells its ids from those of every other shop; `name` is what a calendar calls it."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN", "METHOD:PUBLISH",
             f"X-WR-CALNAME:{_text(name)}"]
    for one in events:
        lines += _event(one, shop, now)
    return b"".join(_folded(line) for line in [*lines, "END:VCALENDAR"])


def _event(one: Event, shop: str, now: datetime) -> list[str]:
    when = ([f"DTSTART:{_moment(one.at)}"] if one.at is not None else
            [f"DTSTART;VALUE=DATE:{one.on:%Y%m%d}", f"DTEND;VALUE=DATE:{one.on + timedelta(days=1):%Y%m%d}"])
    told = [f"DESCRIPTION:{_text(one.description)}"] if one.description else []
    # A whole day that is only a reminder keeps nobody busy: 3.8.2.7.
    return ["BEGIN:VEVENT", f"UID:{uuid.uuid5(uuid.NAMESPACE_URL, f'tagstrip:{shop}:{one.key}')}", f"DTSTAMP:{_moment(now)}", *when,
            f"SUMMARY:{_text(one.summary)}", *told, "TRANSP:TRANSPARENT", "END:VEVENT"]


def _moment(at: datetime) -> str:
    """Form 2 of 3.3.5: UTC."""
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(words: str) -> str:
    """3.3.11: what would end or part the value is written otherwise; other control characters have no place in it."""
    plain = words.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    plain = plain.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(sign for sign in plain if sign == "\t" or (ord(sign) >= 32 and ord(sign) != 127))


def _folded(line: str) -> bytes:
    """3.1: parted after at most 75 octets, never within a character; what follows begins with one blank."""
    made, here = bytearray(), 0
    for sign in line:
        octets = sign.encode("utf-8", "replace")
        if here + len(octets) > MOST_OCTETS:
            made += b"\r\n "
            here = 1
        made += octets
        here += len(octets)
    return bytes(made + b"\r\n")
