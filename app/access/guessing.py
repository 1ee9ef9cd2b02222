"""Slowing down who guesses: counts failures in a row by person, place and kind of secret.

A place is an enrolled device, or the address of a browser that is not enrolled. Passwords are slowed by a wait that grows,
never by a lock: whoever guesses elsewhere on the network slows nobody but who sits at the same place, and even there the
right password opens once the wait is over. At a wait of 15 minutes a place can try 96 passwords a day. PINs are slowed likewise
on an enrolled device; there are a million of them, so that fifty in a row (NIST SP 800-63B allows a hundred) end them there until
the password was given.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta

import sqlalchemy as sa

from app.access.models import FailedAttempts, Person
from app.db import session
from app.kernel.local_forms import counted

PIN_TRIES = 5
FREE_TRIES = 5
MANY_TRIES = 50
LONG_WAIT = timedelta(seconds=60)
LONGEST_WAIT = timedelta(minutes=15)


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
    found = _row(person, place, "pin")
    if found is None:
        return None
    if found.failures >= MANY_TRIES:
        return f"{counted(found.failures, 'wrong PIN')} in a row on this device: sign in with the password once."
    left = _left(found, wait_for_pin(found.failures), now)
    return f"Too many wrong PINs on this device. Wait {left}, or sign in with the password." if left else None


def pin_tries_left(person: Person, place: str) -> int:
    """How many more wrong PINs are taken before there is a wait."""
    found = _row(person, place, "pin")
    return max(PIN_TRIES - (found.failures if found else 0), 0)


def password_trouble(person: Person, place: str, now: datetime) -> str | None:
    """Why a password may not be tried here at the moment; None if it may."""
    found = _row(person, place, "password")
    if found is None:
        return None
    left = _left(found, wait_for(found.failures), now)
    return f"Too many tries. Wait {left}, then try once more." if left else None


def _left(found: FailedAttempts, wait: timedelta, now: datetime) -> str:
    """How much of this wait is left, in words; nothing if it is over."""
    left = found.last_at + wait - now
    # A clock that was set back must not lock anybody out for longer than the wait itself.
    if not timedelta(0) < left <= wait:
        return ""
    seconds = math.ceil(left.total_seconds())
    return counted(seconds, "second") if seconds <= 90 else counted(-(-seconds // 60), "minute")


def failed(person: Person, device_key: str, kind: str, now: datetime) -> None:
    """Count one."""
    found = _row(person, device_key, kind)
    if found is None:
        session().add(FailedAttempts(person_id=person.id, device_key=device_key, kind=kind, failures=1, last_at=now))
    else:
        found.failures, found.last_at = found.failures + 1, now


def pin_fitted(person: Person, device_key: str) -> None:
    """A right PIN ends the row of wrong ones; wrong passwords stay counted."""
    session().execute(sa.delete(FailedAttempts).where(
        FailedAttempts.person_id == person.id, FailedAttempts.device_key == device_key, FailedAttempts.kind == "pin"))


def succeeded(person: Person, device_key: str) -> None:
    """A right password clears the counts of its place."""
    session().execute(sa.delete(FailedAttempts).where(
        FailedAttempts.person_id == person.id, FailedAttempts.device_key == device_key))


def forgive(person: Person) -> None:
    """A new password clears all counts, everywhere."""
    session().execute(sa.delete(FailedAttempts).where(FailedAttempts.person_id == person.id))


def _row(person: Person, device_key: str, kind: str) -> FailedAttempts | None:
    return session().scalar(sa.select(FailedAttempts).where(
        FailedAttempts.person_id == person.id, FailedAttempts.device_key == device_key, FailedAttempts.kind == kind))
