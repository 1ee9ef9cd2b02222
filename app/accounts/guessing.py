"""Slowing down who guesses: counts failures in a row by person, device and kind of secret."""

from __future__ import annotations

from datetime import datetime, timedelta

import sqlalchemy as sa

from app.accounts.models import Guesses, Person
from app.db import session

PIN_TRIES = 5
FREE_TRIES = 5
PASSWORD_STOP = 50
LONGEST_WAIT = timedelta(seconds=60)


def wait_for(failures: int) -> timedelta:
    """How long after the last failure the next password may be tried: nothing for five, then 1, 2, 4 … 60 s."""
    if failures < FREE_TRIES:
        return timedelta(0)
    return min(timedelta(seconds=2 ** (failures - FREE_TRIES)), LONGEST_WAIT)


def pin_is_off(person: Person, device_key: str) -> bool:
    """Five failures in a row: on this device the PIN counts again only after the full password."""
    found = _row(person, device_key, "pin")
    return found is not None and found.failures >= PIN_TRIES


def password_trouble(person: Person, device_key: str, now: datetime) -> str | None:
    """Why a password may not be tried at the moment; None if it may."""
    found = _row(person, device_key, "password")
    if found is None:
        return None
    if found.failures >= PASSWORD_STOP:
        return "Too many tries. The owner must set a new password for this person."
    left = found.last_at + wait_for(found.failures) - now
    # A clock that was set back must not lock anybody out for longer than the longest wait.
    if timedelta(0) < left <= LONGEST_WAIT:
        return f"Too many tries. Wait {int(left.total_seconds()) + 1} seconds, then try once more."
    return None


def failed(person: Person, device_key: str, kind: str, now: datetime) -> None:
    """Count one."""
    found = _row(person, device_key, kind)
    if found is None:
        session().add(Guesses(person_id=person.id, device_key=device_key, kind=kind, failures=1, last_at=now))
    else:
        found.failures, found.last_at = found.failures + 1, now


def succeeded(person: Person, device_key: str) -> None:
    """A right password clears this device's counts."""
    session().execute(sa.delete(Guesses).where(Guesses.person_id == person.id, Guesses.device_key == device_key))


def forgive(person: Person) -> None:
    """A new password clears all counts, on every device."""
    session().execute(sa.delete(Guesses).where(Guesses.person_id == person.id))


def _row(person: Person, device_key: str, kind: str) -> Guesses | None:
    return session().scalar(sa.select(Guesses).where(Guesses.person_id == person.id, Guesses.device_key == device_key,
                                                     Guesses.kind == kind))
