"""The calendar file, held against RFC 5545 by a reader of this test's own: sections named at each check."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st

from app import clock
from app.bench.calendar_file import Event, calendar
from app.db import transaction
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient

Component = dict[str, tuple[str, str]]
LINE = re.compile(r"([A-Z-]+)((?:;[A-Z-]+=[^:;]*)*):(.*)", re.DOTALL)  # 3.1: name *(";" param) ":" value


def unfolded(made: bytes) -> list[str]:
    """3.1: lines end in CRLF, have at most 75 octets, and a line end with one blank after it is none."""
    assert made.endswith(b"\r\n") and b"\n" not in made.replace(b"\r\n", b"") and b"\r" not in made.replace(b"\r\n", b"")
    for line in made.split(b"\r\n"):
        assert len(line) <= 75, line
        line.decode("utf-8")  # never parted within a character
    return made.decode("utf-8").replace("\r\n ", "").split("\r\n")[:-1]


def read(made: bytes) -> tuple[Component, list[Component]]:
    """The calendar's properties and those of each event: name → parameters and value; 3.4, 3.6, 3.6.1."""
    lines = unfolded(made)
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    head: Component = {}
    events: list[Component] = []
    inside: Component | None = None
    for line in lines[1:-1]:
        found = LINE.fullmatch(line)
        assert found, line
        name, params, value = found.groups()
        if (name, value) == ("BEGIN", "VEVENT"):
            assert inside is None
            inside = {}
        elif (name, value) == ("END", "VEVENT"):
            assert inside is not None
            events.append(inside)
            inside = None
        else:
            into = head if inside is None else inside
            assert name not in into, f"{name} stands twice"
            into[name] = (params, value)
    assert inside is None
    return head, events


def said(value: str) -> str:
    """3.3.11: the text that an escaped value means; nothing that ends or parts a value stands in it bare."""
    assert not re.search(r"(?<!\\)(?:\\\\)*[;,]", value), value
    assert re.fullmatch(r"(?:[^\\]|\\[\\;,nN])*", value, re.DOTALL), value
    return re.sub(r"\\(.)", lambda found: "\n" if found.group(1) in "nN" else found.group(1), value)


def of(*events: Event, name: str = "Due") -> bytes:
    return calendar(events, "a shop", name, NOW)


def test_the_calendar_says_what_3_6_and_3_7_require() -> None:
    head, events = read(of())
    assert head["VERSION"] == ("", "2.0") and head["PRODID"][1] and events == []  # 3.7.3, 3.7.4


def test_an_event_has_what_3_6_1_requires() -> None:
    _, (one,) = read(of(Event("promise-1-0", date(2026, 3, 31), None, "Promised day: 1001")))
    assert one.keys() >= {"UID", "DTSTAMP", "DTSTART"}
    assert one["DTSTAMP"] == ("", "20260302T093000Z")  # 3.8.7.2: in UTC
    assert one["DTSTART"] == (";VALUE=DATE", "20260331") and one["DTEND"] == (
        ";VALUE=DATE",
        "20260401",
    )  # 3.6.1: the end is not part


def test_a_moment_is_written_in_utc() -> None:
    """Form 2 of 3.3.5."""
    at = datetime(2026, 3, 2, 23, 5, 7, tzinfo=timezone(timedelta(hours=11)))
    _, (one,) = read(of(Event("a", at.date(), at, "x")))
    assert one["DTSTART"] == ("", "20260302T120507Z")


def test_an_id_stays_and_is_no_other_shop_s() -> None:
    """3.8.4.7: globally unique and persistent."""
    one, other = Event("a", date(2026, 3, 2), None, "x"), Event("b", date(2026, 3, 2), None, "x")
    moved = Event("a", date(2027, 1, 1), None, "y")

    def ids(made: bytes) -> list[str]:
        return [event["UID"][1] for event in read(made)[1]]

    first, second = ids(of(one, other))
    assert first != second and ids(of(moved)) == [first]
    assert ids(calendar([one], "another shop", "Due", NOW)) != [first]


@given(st.text(st.characters(codec="utf-8"), max_size=300))
def test_any_text_is_read_back_as_it_was(text: str) -> None:
    """3.3.11 and 3.1, for every text; control characters other than tab and line end have no place in a file (TSAFE-CHAR)."""
    _, (one,) = read(of(Event("a", date(2026, 3, 2), None, text, text), name=text))
    plain = re.sub(r"\r\n?", "\n", text)
    kept = "".join(sign for sign in plain if sign in "\t\n" or (ord(sign) >= 32 and ord(sign) != 127))
    assert said(one["SUMMARY"][1]) == kept
    if text:
        assert said(one["DESCRIPTION"][1]) == kept


def test_the_shop_s_own_is_fetched_with_its_promises(app: Flask, counter: PageClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    with app.app_context(), transaction():
        order = factories.order()
        order.promised_on = date(2026, 6, 1)  # a quarter ahead
    answer = counter.client.get("/due/calendar.ics")
    assert answer.status_code == 200 and answer.content_type == "text/calendar; charset=utf-8"  # 8.1
    _, (one,) = read(answer.data)
    assert said(one["SUMMARY"][1]) == "Promised day: 1001 Tarnholt Meridian 30: Wren Adler" and one["DTSTART"][1] == "20260601"
    assert counter.client.get("/due/calendar.ics").data == answer.data
    assert NOW.tzinfo is UTC
