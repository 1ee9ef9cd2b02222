"""What a passkey is asked to sign: 256 random bits for one page, that count once and for two minutes.

They are remembered by this process, by the sign-in or the visit that the page was given to: nobody who is not signed in writes
to the database. After a restart the browser asks for another.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum

from app.db import database

LASTS = timedelta(minutes=2)
MOST = 4096  # remembered; the oldest goes first


class For(StrEnum):
    """What is signed: one challenge never serves for the other."""

    ADDING = "adding"
    SIGNING_IN = "signing in"


@dataclass(frozen=True)
class Challenge:
    """The bits, when they were given, and by what handle the new key is to know its person."""

    bits: bytes
    given_at: datetime
    handle: str = ""


@dataclass
class _Given:
    open: OrderedDict[tuple[For, str], Challenge] = field(default_factory=OrderedDict)
    lock: threading.Lock = field(default_factory=threading.Lock)


def give(what: For, page: str, now: datetime, handle: str = "") -> Challenge:
    """A new one for this page; the one before it is void."""
    given, made = _given(), Challenge(secrets.token_bytes(32), now, handle)
    with given.lock:
        given.open.pop((what, page), None)
        given.open[what, page] = made
        if len(given.open) > MOST:
            given.open.popitem(last=False)
    return made


def take(what: For, page: str, now: datetime) -> Challenge | None:
    """The one that this page was given, which is used up by that; None if there is none or it is too old."""
    given = _given()
    with given.lock:
        found = given.open.pop((what, page), None)
    return found if found is not None and timedelta(0) <= now - found.given_at <= LASTS else None


def _given() -> _Given:
    found: _Given = database().memory.setdefault("challenges", _Given())
    return found
