"""Slowing down who guesses: counts failures in a row by person, place and kind of secret.

A place is an enrolled device, or the address of a browser that is not enrolled. Passwords are slowed by a wait that grows,
never by a lock: whoever guesses elsewhere on the network slows nobody but who sits at the same place, and even there the
right password opens once the wait is over. At a wait of 15 minutes a place can try 96 passwords a day of one name. PINs are
slowed likewise on an enrolled device; there are a million of them, so that fifty in a row (NIST SP 800-63B allows a hundred) end
them there until the password was given.

A name that nobody has waits as one that somebody has; its count is remembered by this process only. And a place has a budget of
tries whatever the names, remembered by this process too: some 1,500 a day.
"""

from __future__ import annotations

import math
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import sqlalchemy as sa

from app.access.models import FailedAttempts, Person
from app.db import database, session
from app.kernel.local_forms import counted

PIN_TRIES = 5
FREE_TRIES = 5
MANY_TRIES = 50
LONG_WAIT = timedelta(seconds=60)
LONGEST_WAIT = timedelta(minutes=15)
BURST, EVERY_SECONDS = 10, 6.0  # tries of one place: ten at once, then one each six seconds
HARD_AFTER, HARD_SECONDS = 30, 60.0  # none of thirty in a row opened anything: one a minute
MOST_PLACES = 4096  # remembered; the one that was not asked of longest goes first
seconds = time.monotonic


@dataclass(frozen=True)
class Who:
    """Whose secret is tried: a person's id, or 0 and the name that nobody has, as `plain` gives it."""

    person_id: int
    name: str


def plain(name: str) -> str:
    """A name in the form in which it is looked for."""
    return " ".join(name.split()).lower()


@dataclass
class _Spent:
    ready_at: float = 0.0  # when a try may be made, were there no burst
    tries: int = 0


class Budget:
    """How many tries each place has left."""

    def __init__(self) -> None:
        self._places: OrderedDict[str, _Spent] = OrderedDict()
        self._lock = threading.Lock()

    def __len__(self) -> int:
        return len(self._places)

    def wait(self, place: str) -> float:
        """Take one try: 0 if there is one, else the seconds until there is."""
        with self._lock:
            spent, now = self._places.setdefault(place, _Spent()), seconds()
            self._places.move_to_end(place)
            if len(self._places) > MOST_PLACES:
                self._places.popitem(last=False)
            hard = spent.tries >= HARD_AFTER
            every, burst = (HARD_SECONDS, 1) if hard else (EVERY_SECONDS, BURST)
            ready = max(spent.ready_at, now)
            early = ready - now - every * (burst - 1)
            if early > 0:
                return early
            spent.ready_at, spent.tries = ready + every, spent.tries + 1
            return 0.0

    def forget(self, place: str) -> None:
        """Something opened there: its tries begin anew."""
        with self._lock:
            self._places.pop(place, None)


@dataclass
class _Tries:
    """What this process remembers of tries."""

    budget: Budget = field(default_factory=Budget)
    unknown: OrderedDict[tuple[str, str], tuple[int, datetime]] = field(default_factory=OrderedDict)


def place_trouble(place: str) -> str | None:
    """Why nothing may be tried at this place at the moment; None if it may, and then it counts."""
    wait = _tries().budget.wait(place)
    return f"Too many tries. Wait {_said(wait)}, then try once more." if wait else None


def wait_for(failures: int) -> timedelta:
    """How long after the last failure the next password may be tried.

    Nothing for five, then 1, 2, 4 … 60 s; from the fiftieth in a row 2, 4, 8 and at most 15 minutes.
    """
    if failures < FREE_TRIES:
        return timedelta(0)
    if failures < MANY_TRIES:
        return min(timedelta(seconds=1 << min(failures - FREE_TRIES, 6)), LONG_WAIT)
    return min(LONG_WAIT * (1 << min(failures - MANY_TRIES + 1, 4)), LONGEST_WAIT)


def wait_for_pin(failures: int) -> timedelta:
    """How long after the last failure the next PIN may be tried: nothing for five, then 1, 2, 4, 8 and at most 15 minutes."""
    return timedelta(0) if failures < PIN_TRIES else min(LONG_WAIT * (1 << min(failures - PIN_TRIES, 4)), LONGEST_WAIT)


def pin_trouble(person: Person, place: str, now: datetime) -> str | None:
    """Why this person's PIN may not be tried on this device at the moment; None if it may.

    Whoever types wrong PINs on purpose holds a colleague up on this device for minutes, and on no other. Past fifty in a row
    only the password helps here, as nobody mistypes that often.
    """
    found = _row(person.id, place, "pin")
    if found is None:
        return None
    if found.failures >= MANY_TRIES:
        return f"{counted(found.failures, 'wrong PIN')} in a row on this device: sign in with the password once."
    left = _left(found.last_at, wait_for_pin(found.failures), now)
    return f"Too many wrong PINs on this device. Wait {left}, or sign in with the password." if left else None


def pin_tries_left(person: Person, place: str) -> int:
    """How many more wrong PINs are taken before there is a wait."""
    found = _row(person.id, place, "pin")
    return max(PIN_TRIES - (found.failures if found else 0), 0)


def opened(place: str) -> None:
    """Somebody came in here, by whatever: the place's tries begin anew."""
    _tries().budget.forget(place)


def password_trouble(who: Who, place: str, now: datetime) -> str | None:
    """Why a password may not be tried here at the moment; None if it may."""
    found = _row(who.person_id, place, "password")
    failures, last = (found.failures, found.last_at) if found else _tries().unknown.get((who.name, place), (0, now))
    left = _left(last, wait_for(failures), now)
    return f"Too many tries. Wait {left}, then try once more." if left else None


def _left(last_at: datetime, wait: timedelta, now: datetime) -> str:
    """How much of this wait is left, in words; nothing if it is over."""
    left = last_at + wait - now
    # A clock that was set back must not lock anybody out for longer than the wait itself.
    return _said(left.total_seconds()) if timedelta(0) < left <= wait else ""


def _said(left: float) -> str:
    whole = math.ceil(left)
    return counted(whole, "second") if whole <= 90 else counted(-(-whole // 60), "minute")



def failed(who: Who, place: str, kind: str, now: datetime) -> None:
    """Count one."""
    if not who.person_id:
        unknown = _tries().unknown
        unknown[who.name, place] = (unknown.pop((who.name, place), (0, now))[0] + 1, now)
        if len(unknown) > MOST_PLACES:
            unknown.popitem(last=False)
        return
    found = _row(who.person_id, place, kind)
    if found is None:
        session().add(FailedAttempts(person_id=who.person_id, device_key=place, kind=kind, failures=1, last_at=now))
    else:
        found.failures, found.last_at = found.failures + 1, now


def pin_fitted(person: Person, device_key: str) -> None:
    """A right PIN ends the row of wrong ones; wrong passwords stay counted."""
    _tries().budget.forget(device_key)
    session().execute(sa.delete(FailedAttempts).where(
        FailedAttempts.person_id == person.id, FailedAttempts.device_key == device_key, FailedAttempts.kind == "pin"))


def succeeded(person: Person, device_key: str) -> None:
    """A right password clears the counts of its place."""
    _tries().budget.forget(device_key)
    session().execute(sa.delete(FailedAttempts).where(
        FailedAttempts.person_id == person.id, FailedAttempts.device_key == device_key))


def forgive(person: Person) -> None:
    """A new password clears all counts, everywhere."""
    session().execute(sa.delete(FailedAttempts).where(FailedAttempts.person_id == person.id))


def _row(person_id: int, device_key: str, kind: str) -> FailedAttempts | None:
    return session().scalar(sa.select(FailedAttempts).where(
        FailedAttempts.person_id == person_id, FailedAttempts.device_key == device_key, FailedAttempts.kind == kind))


def _tries() -> _Tries:
    found: _Tries = database().memory.setdefault("tries", _Tries())
    return found
