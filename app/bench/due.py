"""What is due: the page, its paper, and its calendar file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from flask import Blueprint, Response, render_template, request

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.bench.calendar_file import Event, calendar
from app.kernel.links import Linked, linked
from app.kernel.local_forms import counted
from app.orders.due import Asked, Due, counts, due
from app.shop.queries import the_shop

bp = Blueprint("due", __name__, url_prefix="/due")
CALENDAR_DAYS = 366  # a calendar looks further ahead than the page


@dataclass(frozen=True)
class Line:
    """One thing that is due, and its act for whoever is signed in."""

    due: Due
    act: Linked
    overdue: bool


@dataclass(frozen=True)
class Part:
    """What shares a heading."""

    title: str
    lines: tuple[Line, ...]


@bp.get("")
@may(May.SEE)
def page() -> str:
    """Overdue, due today, and what comes soon."""
    now, zone = clock.now(), the_shop().zone
    found = due(now, zone)
    today = Asked(now, zone).today
    acts = linked(one.act for one in found)
    lines = [Line(one, act, one.overdue(today, now)) for one, act in zip(found, acts, strict=True)]
    parts = (Part("Overdue", tuple(line for line in lines if line.overdue)),
             Part("Today", tuple(line for line in lines if not line.overdue and line.due.on <= today)),
             Part("Soon", tuple(line for line in lines if not line.overdue and line.due.on > today)))
    return render_template("bench/due.html", parts=[part for part in parts if part.lines], today=today, words=in_words(found, now))


@bp.get("/calendar.ics")
@may(May.SEE)
def calendar_file() -> Response:
    """Promised days and all else that is due, for a calendar: as it stands when it is fetched."""
    now, shop = clock.now(), the_shop()
    made = calendar((_event(one) for one in due(now, shop.zone, ahead=CALENDAR_DAYS)), shop.opened_at.isoformat(),
                    f"Due at {shop.name}", now)
    answer = Response(made, content_type="text/calendar; charset=utf-8")
    answer.headers["Content-Disposition"] = 'attachment; filename="due.ics"'
    return answer


def _event(one: Due) -> Event:
    of = f"{one.number} {one.title}: " if one.number is not None else ""
    where = request.host_url.rstrip("/") + (linked([one.act])[0].url or "/due")
    return Event(one.key, one.on, one.at, f"{one.kind}: {of}{one.who}".rstrip(": "), f"{one.text}\n{where}")


def in_words(found: Iterable[Due], now: datetime) -> str:
    """'2 overdue, 3 due today'; empty where nothing is."""
    late, today = counts(found, now, the_shop().zone)
    told = [f"{late} overdue" if late else "", counted(today, "due today", "due today") if today else ""]
    return ", ".join(filter(None, told))


def line_for_the_bench(now: datetime) -> str:
    """The same as one line on the bench list."""
    return in_words(due(now, the_shop().zone, ahead=0), now)
