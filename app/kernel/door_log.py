"""The log of the door: who came in and went out, and what was refused or slowed, one line of JSON each.

A line has the moment, what happened, the person's name as signed in, the address, and for a refusal the page's name in the program.
No address of a page, nothing typed, no name that was tried, no secret and no hash: what a line says comes from closed lists, save
the person's name, and JSON leaves no line end in it. The journal holds the rest, with whose password was tried.
"""

from __future__ import annotations

import json
import logging
import os
import sys
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from logging.handlers import RotatingFileHandler
from pathlib import Path

from flask import g, has_request_context, request

from app.kernel.origin import address

FILE = "door.log"
MOST_BYTES, FILES = 1_000_000, 5  # and the four before it
A_MINUTE, ALIKE = 60.0, 20  # lines that say the same of one address; more are counted and not written
_log = logging.getLogger("tagstrip.door")
seconds = time.monotonic


class What(StrEnum):
    """What a line says."""

    SIGNED_IN = "signed in"
    SIGN_IN_REFUSED = "sign-in refused"
    SLOWED = "told to wait"
    SIGNED_OUT = "signed out"
    CODE_REFUSED = "code refused"
    SHOP_OPENED = "shop opened"
    DEVICE_ENROLLED = "device enrolled"
    REFUSED = "refused"
    OTHER_SITE = "form of another site refused"
    OTHER_PAGE = "form of no page of this sign-in refused"
    TOO_LARGE = "form too large"
    TOO_SLOW = "form too slow"
    TOO_MANY = "too many at once from this address"
    NOT_OVER_PROXY = "came past the proxy"
    PLAIN_HTTP = "plain http on the https port"
    PAST_THE_DOOR = "came past the door"


class _Owners(RotatingFileHandler):
    """Readable by the owner of the data folder only."""

    def _open(self):  # type: ignore[no-untyped-def]
        return os.fdopen(os.open(self.baseFilename, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600), "a", encoding="ascii")


@dataclass
class _Alike:
    since: float
    lines: int = 0


_seen: OrderedDict[tuple[What, str], _Alike] = OrderedDict()
_lock = threading.Lock()


def keep_in(data: Path) -> None:
    """Write to the data folder from now on; to stderr where that cannot be written to."""
    _log.setLevel(logging.INFO)
    _log.propagate = False
    try:
        handler: logging.Handler = _Owners(data / FILE, maxBytes=MOST_BYTES, backupCount=FILES - 1, encoding="ascii")
    except OSError:
        handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(message)s"))
    for old in list(_log.handlers):
        _log.removeHandler(old)
        old.close()
    _log.addHandler(handler)


def note(what: What, *, person: str = "", at: str = "") -> None:
    """One line. `person` and `at` (an address) are those of the request where they are not given."""
    page = ""
    if has_request_context():
        signed_in = g.get("person")
        person, at, page = person or (signed_in.name if signed_in else ""), at or address(), request.endpoint or ""
    lines = _lines(what, at)
    if lines > ALIKE:
        return
    told = {"at": datetime.now(UTC).isoformat(timespec="milliseconds"), "what": what.value, "person": person[:120],
            "address": at.removeprefix("address "), "page": page}
    if lines == ALIKE:
        told["more"] = "not written for a minute"
    _log.info(json.dumps({name: value for name, value in told.items() if value}))


def _lines(what: What, at: str) -> int:
    """How many lines that say this of this address there are within the minute, this one counted."""
    with _lock:
        now = seconds()
        found = _seen.pop((what, at), None)
        if found is None or now - found.since > A_MINUTE:
            found = _Alike(now)
        found.lines += 1
        _seen[what, at] = found
        if len(_seen) > 4096:
            _seen.popitem(last=False)
        return found.lines
