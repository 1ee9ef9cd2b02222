"""Timers: started, switched, stopped; forgotten ones corrected. The moments are the server's: a closed tablet loses nothing."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput, NotFound, RuleBroken
from app.hours.models import TimeEntry
from app.hours.queries import outlook
from app.hours.queries import tasks as queries
from app.hours.queries.work import Piece, pieces, span_of
from app.hours.rules.outlook import Level
from app.hours.rules.timing import Span, check_correction
from app.hours.rules.words import Role, WorkKey
from app.hours.service import tasks
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.quote import queries as quote
from app.quote.rules.lines import say_hours
from app.reassembly.queries.way import way_back


def why_asked(order: RepairOrder, piece: Piece, now: datetime) -> str:
    """Why somebody must say who allows this work before it starts; empty if it was agreed to."""
    if authority.ceiling(order.id) is None:
        return "Nobody has agreed to pay for work on this repair yet."
    if not piece.key.role.before_the_quote and quote.authorisation(order) is None:
        return "The quote is not answered yet: only diagnosis and strip-down are agreed to."
    if not piece.agreed:
        return f"Nobody has agreed to this: {piece.what}."
    hours = outlook.order_hours(order, now)
    bar = hours.diagnosis if piece.key.role.before_the_quote and hours.answered else hours.bar
    if bar is not None and bar.level in (Level.HOLD, Level.PASSED):
        return bar.limit_words
    return ""


def start(order: RepairOrder, key: WorkKey, step: str = "", *, seen: int = 0, allowed_by: str = "", by: Actor,
          now: datetime) -> TimeEntry:
    """Start a person's timer on a piece of work. The one that runs stops at the same moment, if it is the one they saw (`seen`).

    Work that nobody agreed to is asked back before it starts: BadInput until it says who allows it.
    """
    must_be_open(order)
    if by.person_id is None:
        raise RuleBroken("A timer is a person’s own. Sign in to start one.")
    found = _startable(order, key, step)
    _must_be_agreed(order, found)
    running = queries.running_of(by.person_id)
    if (running.id if running else 0) != seen:
        raise RuleBroken(_meanwhile(running))
    if running is not None and (running.task_id, running.step) == (found.task.id if found.task else 0, step):
        raise RuleBroken("Your timer runs on this already.")
    if (why := why_asked(order, found, now)) and not allowed_by.strip():
        raise BadInput(f"{why} Enter who allows it, or have it agreed first.", "allowed_by")
    if running is not None:
        _stop(running, by=by, now=now)
        session().flush()
    task = tasks.ensure(order, key, by=by, now=now)
    tasks.claim(task, found)
    return _begin(order, task.id, step, found, by=by, now=now, allowed_by=" ".join(allowed_by.split()) if why else "")


def _must_be_agreed(order: RepairOrder, found: Piece) -> None:
    """An item of the quote that the customer declined, or agrees to no more, is not worked on, whoever of the shop allows it."""
    if found.key.role is Role.ITEM and not found.agreed:
        raise BadInput(f"{order.authority.name} has not agreed to this item: {found.what}. Ask them to approve it, and record the "
                       "answer to the quote.", "allowed_by")


def start_alone(order: RepairOrder, key: WorkKey, *, by: Actor, now: datetime) -> TimeEntry:
    """It dries, cures or soaks by itself from now on: apart from anybody's own timer."""
    must_be_open(order)
    found = _startable(order, key, "")
    _must_be_agreed(order, found)
    if found.alone is not None:
        raise RuleBroken(f"Its unattended time runs already, started by {found.alone.person_name}.")
    task = tasks.ensure(order, key, by=by, now=now)
    return _begin(order, task.id, "", found, by=by, now=now, unattended=True)


def stop(person_id: int, *, seen: int, by: Actor, now: datetime) -> TimeEntry:
    """Stop the timer of a person, if it is the one they saw."""
    running = queries.running_of(person_id)
    if running is None or running.id != seen:
        raise RuleBroken(_meanwhile(running) if running else "Your timer was stopped already. Its hours are kept.")
    _stop(running, by=by, now=now)
    return running


def stop_alone(entry: TimeEntry, *, by: Actor, now: datetime) -> None:
    """End an unattended time."""
    if not entry.unattended or entry.stopped_at is not None:
        raise RuleBroken("This unattended time has ended already.")
    _stop(entry, by=by, now=now)


def correct(order: RepairOrder, entry: TimeEntry, span: Span, reason: str, *, by: Actor, now: datetime) -> TimeEntry:
    """Enter what was really worked: a later entry takes the place of the first, which stays readable with its own times.

    One that still runs is stopped first. A forgotten timer that was right after all is confirmed in the same way, with its reason.
    """
    _must_be_of(order, entry)
    if entry.stopped_at is None:
        _stop(entry, by=by, now=now)
        session().flush()
    if entry.id not in {one.id for one in queries.standing(queries.entries_of(order))}:
        raise RuleBroken("This entry was corrected already. Correct the one that took its place.")
    others = _others(entry.person_id, span, entry)
    check_correction(span, [] if entry.unattended else others, reason, now)
    made = TimeEntry(order_id=order.id, task_id=entry.task_id, step=entry.step, person_id=entry.person_id,
                     person_name=entry.person_name, unattended=entry.unattended, started_at=span.start, stopped_at=span.end,
                     stopped_by=by.name, allowed_by=entry.allowed_by, takes_place_of_id=entry.id, reason=reason.strip(),
                     entered_at=now, entered_by=by.name)
    session().add(made)
    record(Event.HOURS_CORRECTED, made, by=by, now=now, before=_times(span_of(entry)), after=_times(span), reason=made.reason)
    _weigh_again(order, made, now)
    return made


def enter(order: RepairOrder, key: WorkKey, span: Span, reason: str, *, by: Actor, now: datetime) -> TimeEntry:
    """Hours that were worked without a timer, with the reason why they are entered afterwards."""
    must_be_open(order)
    found = tasks.load(order, key)
    check_correction(span, _others(by.person_id, span, None), reason, now)
    task = tasks.ensure(order, key, by=by, now=now)
    session().flush()
    made = TimeEntry(order_id=order.id, task_id=task.id, person_id=by.person_id, person_name=by.name, started_at=span.start,
                     stopped_at=span.end, stopped_by=by.name, reason=reason.strip(), entered_at=now, entered_by=by.name)
    session().add(made)
    record(Event.HOURS_ENTERED, made, by=by, now=now, after={"task": found.what, **_times(span)}, reason=made.reason)
    _weigh_again(order, made, now)
    return made


def _startable(order: RepairOrder, key: WorkKey, step: str) -> Piece:
    found = tasks.load(order, key)
    if found.finished:
        raise RuleBroken("This task is finished. Reopen it to work on it again.")
    if found.waits:
        raise RuleBroken(f"It comes after: {'; '.join(found.waits)}. Finish that first.")
    if step and (key.role is not Role.WAY_BACK or step not in way_back(order, planned=False).steps):
        raise NotFound("There is no such step on the way back. Look at the plan again.")
    return found


def _begin(order: RepairOrder, task_id: int, step: str, found: Piece, *, by: Actor, now: datetime, allowed_by: str = "",
           unattended: bool = False) -> TimeEntry:
    session().flush()
    made = TimeEntry(order_id=order.id, task_id=task_id, step=step, person_id=by.person_id, person_name=by.name,
                     unattended=unattended, started_at=now, allowed_by=allowed_by, entered_at=now, entered_by=by.name)
    session().add(made)
    record(Event.TIMER_STARTED, made, by=by, now=now, after={
        "task": found.what, "step": step or None, "unattended": unattended or None, "allowed by": allowed_by or None})
    return made


def _stop(entry: TimeEntry, *, by: Actor, now: datetime) -> None:
    entry.stopped_at, entry.stopped_by = max(now, entry.started_at), by.name
    record(Event.TIMER_STOPPED, entry, by=by, now=now,
           after={"task": entry.task.what, "hours": say_hours(span_of(entry).hours(now))})


def _meanwhile(running: TimeEntry | None) -> str:
    if running is None:
        return "Your timer was stopped after this page was opened. Look at the hours again, then start it."
    return (f"Your timer was started on “{running.task.what}” after this page was opened, perhaps on another device. Look at the "
            "hours again, then switch.")


def _others(person_id: int | None, span: Span, but: TimeEntry | None) -> list[Span]:
    """Other attended times of the same person near a span."""
    if person_id is None or span.end is None:
        return []
    found = queries.entries_between(person_id, (TimeEntry.started_at < span.end) & (
        TimeEntry.stopped_at.is_(None) | (TimeEntry.stopped_at > span.start)))
    return [span_of(one) for one in found if but is None or one.id != but.id]


def _must_be_of(order: RepairOrder, entry: TimeEntry) -> None:
    must_be_open(order)
    if entry.order_id != order.id:
        raise NotFound("There is no such entry on this repair.")


def _weigh_again(order: RepairOrder, entry: TimeEntry, now: datetime) -> None:
    """A finished task took other hours than was thought."""
    session().flush()
    found = next((one for one in pieces(order) if one.task is not None and one.task.id == entry.task_id), None)
    if found is not None and found.task is not None and found.finished:
        tasks.weigh(found.task, found, found.spent(now))


def _times(span: Span) -> dict[str, object]:
    return {"from": span.start.isoformat(timespec="minutes"), "to": span.end.isoformat(timespec="minutes") if span.end else None}
