"""Trying a password or a PIN. The slow hash is worked out outside the write lock, two at once; a place has so many tries.

What a try says, costs and waits is the same whether the name is in the list or not. Never called inside a transaction:
each try opens its own, which counts it.
"""

from __future__ import annotations

import threading
from datetime import datetime

from app.access import guessing, secrets, service
from app.access.models import Device, Person
from app.db import end_reading, transaction
from app.errors import Unavailable
from app.kernel.door_log import What, note
from app.kernel.local_forms import counted

AT_ONCE, WAITING = 2, 4  # a hash takes a core and 46 MiB; who waits holds one of the threads that answer pages
WAIT_SECONDS = 5.0
NO_MATCH = "Wrong name or password."
NOT_THE_PIN = "That is not the PIN."
NOT_ENROLLED = "This device is not enrolled. Sign in with the password."
NO_PIN = "No PIN is set for this name yet. Sign in with the password."
REFUSALS = (NO_MATCH, NOT_THE_PIN, NOT_ENROLLED, NO_PIN)  # how these begin; everything else is a wait
SOMEWHERE = "address unknown"  # a place nobody named

_turns, _room = threading.BoundedSemaphore(AT_ONCE), threading.BoundedSemaphore(AT_ONCE + WAITING)


class Busy(Unavailable):
    """Too many secrets are being tried."""


def password(person: Person | None, given: str, device: Device | None, *, now: datetime, name: str = "",
             address: str = SOMEWHERE) -> str | None:
    """What to say if this password does not open; None if it does. `name` as it was typed, where nobody has it.

    Failures count by person and by enrolled device; in a browser that is not enrolled, by its address.
    """
    return _noted(_password(person, given, service.place_of(device, address), name, now), What.SIGN_IN_REFUSED)


def _noted(trouble: str | None, refused: What) -> str | None:
    if trouble:
        note(refused if trouble.startswith(REFUSALS) else What.SLOWED)
    return trouble


def _password(person: Person | None, given: str, place: str, name: str, now: datetime) -> str | None:
    who = guessing.Who(person.id if person else 0, guessing.plain(person.name if person else name))
    if trouble := guessing.password_trouble(who, place, now) or guessing.place_trouble(place):
        return trouble
    stored = person.password_hash if person else None
    end_reading()
    try:
        fits = weigh(stored, given) and person is not None
    except Busy as busy:
        return busy.words
    with transaction():
        # Others may have tried meanwhile: what they are told to wait holds for this one too, right or wrong.
        if trouble := guessing.password_trouble(who, place, now):
            return trouble
        return None if service.count_password(person, who, place, fits=fits, now=now) else NO_MATCH


def pin(person: Person | None, given: str, device: Device | None, *, now: datetime) -> str | None:
    """What to say if this PIN does not open; None if it does. A PIN counts only on an enrolled device."""
    return _noted(_pin(person, given, device, now), What.SIGN_IN_REFUSED)


def _pin(person: Person | None, given: str, device: Device | None, now: datetime) -> str | None:
    if device is None:
        return NOT_ENROLLED
    if person is None or person.pin_hash is None:
        return NO_PIN
    place = service.place_of(device, "")
    if trouble := guessing.pin_trouble(person, place, now) or guessing.place_trouble(place):
        return trouble
    stored = person.pin_hash
    end_reading()
    try:
        fits = weigh(stored, given)
    except Busy as busy:
        return busy.words
    with transaction():
        if trouble := guessing.pin_trouble(person, place, now):
            return trouble
        if service.count_pin(person, place, fits=fits, now=now):
            return None
        if left := guessing.pin_tries_left(person, place):
            return f"{NOT_THE_PIN} {counted(left, 'more try', 'more tries')} on this device before a wait."
        return f"{NOT_THE_PIN} {guessing.pin_trouble(person, place, now)}"


def weigh(stored: str | None, given: str) -> bool:
    """Whether the secret fits, worked out in turn. Busy if too many wait already, or this one's turn does not come."""
    if not _room.acquire(blocking=False):
        raise Busy("Too many people are signing in at this moment. Wait a few seconds, then try again.")
    try:
        if not _turns.acquire(timeout=WAIT_SECONDS):
            raise Busy("Too many people are signing in at this moment. Wait a few seconds, then try again.")
        try:
            return secrets.secret_fits(stored, given)
        finally:
            _turns.release()
    finally:
        _room.release()
