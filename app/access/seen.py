"""When each sign-in was last seen. Every page notes it in memory; it is written down with the next save, whoever makes it.

A page that only reads takes no write lock for this, waits for nobody, and opens on a full or locked disk too. What was noted and
not yet saved ends with the process: after a restart somebody who only read may have to sign in again.
"""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from flask import g, has_app_context
from sqlalchemy.orm import Session

from app.access.models import SignIn
from app.db import database, listen_to_sessions

_SAVED, _WHO = "sign-ins seen", "whose sign-ins"
MOST_KNOWN = 1000


def note(sign_in: SignIn, now: datetime) -> None:
    """It was seen now."""
    _noted()[sign_in.id] = now
    known = _known()
    known[sign_in.token_hash] = sign_in.person_id
    while len(known) > MOST_KNOWN:
        known.pop(next(iter(known)), None)


def whose(token_hash: str) -> int | None:
    """Whose sign-in that was when it was last seen, without asking the database: whose files to keep while that is away.

    It opens nothing; a file that is kept is given to nobody but who signs in as that person.
    """
    return _known().get(token_hash)


def _known() -> dict[str, int]:
    found: dict[str, int] = database().memory.setdefault(_WHO, {})
    return found


def last(sign_in: SignIn) -> datetime:
    """When it was last seen, saved or not."""
    return max(sign_in.seen_at, _noted().get(sign_in.id, sign_in.seen_at))


def _noted() -> dict[int, datetime]:
    found: dict[int, datetime] = database().memory.setdefault(_SAVED, {})
    return found


def _save(current: Session) -> None:
    """Before a commit: what was noted since the last one."""
    if not (has_app_context() and g.get("db_session") is current):
        return
    noted = dict(_noted())
    for key, at in noted.items():
        current.execute(sa.update(SignIn).where(SignIn.id == key, SignIn.seen_at < at).values(seen_at=at)
                        .execution_options(synchronize_session=False))
    current.info[_SAVED] = noted


def _forget(current: Session) -> None:
    """After it: that is saved. What was noted meanwhile waits for the next."""
    for key, at in current.info.pop(_SAVED, {}).items():
        if _noted().get(key) == at:
            _noted().pop(key, None)


def install() -> None:
    """Listen to every session. Called once, when the application is built; again does nothing."""
    listen_to_sessions(before_commit=_save, after_commit=_forget)
