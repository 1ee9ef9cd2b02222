"""A clock that jumped is written down and ends every sign-in; nothing goes by age until the owner has looked at the clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from flask import Flask, current_app

from app import clock
from app.access.models import SignIn
from app.db import session, transaction
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.journal.service import PROGRAM, Actor, record
from app.kernel.clock_watch import ClockWatch, Jump, doubt, jump_since
from app.kernel.models import ClockJump

WATCH = "tagstrip_clock"


def watch(app: Flask) -> None:
    """From now on look at the clock with every request of this server."""
    app.extensions[WATCH] = ClockWatch(clock.now(), clock.steady())


def look() -> None:
    """Before a request: write a jump down, if there was one. In a transaction of its own."""
    found: ClockWatch | None = current_app.extensions.get(WATCH)
    jump = found.look(clock.now(), clock.steady()) if found else None
    if jump is not None:
        with transaction():
            note(jump, now=jump.found)


def look_at_start(now: datetime) -> None:
    """Inside a transaction: hold the clock against the newest entry of the journal."""
    last = session().scalar(sa.select(JournalEntry.at).order_by(JournalEntry.seq.desc()).limit(1))
    jump = jump_since(last, now)
    if jump is not None:
        note(jump, now=now)


def note(jump: Jump, *, now: datetime) -> ClockJump:
    """Write it down, and end every sign-in: how long one was idle is not known any more."""
    made = ClockJump(expected_at=jump.expected, found_at=jump.found)
    session().add(made)
    record(Event.CLOCK_JUMPED, made, by=PROGRAM, now=now, before={"expected": jump.expected.isoformat(timespec="minutes")},
           after={"found": jump.found.isoformat(timespec="minutes")})
    session().execute(sa.update(SignIn).where(SignIn.ended_at.is_(None)).values(ended_at=now)
                      .execution_options(synchronize_session=False))
    doubt()
    return made


def open_jumps() -> Sequence[ClockJump]:
    """Those that the owner has not confirmed, oldest first."""
    return session().scalars(sa.select(ClockJump).where(ClockJump.confirmed_at.is_(None)).order_by(ClockJump.id)).all()


def confirm(*, by: Actor, now: datetime) -> None:
    """The clock is right: what goes by age goes again."""
    for jump in open_jumps():
        jump.confirmed_at, jump.confirmed_by = now, by.name
        record(Event.CLOCK_CONFIRMED, jump, by=by, now=now, after={"the clock says": now.isoformat(timespec="minutes")})
