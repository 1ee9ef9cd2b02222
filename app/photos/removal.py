"""Files that go out of the store for good: listed in the transaction that lets go of them, removed after it.

A kill in between loses nothing and keeps nothing: what is listed is removed at the next start, or after the next such act.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from flask import current_app

from app.db import Base, session, transaction
from app.journal.events import Event
from app.journal.service import PROGRAM, record
from app.photos.models import FileToRemove
from app.photos.store import the_store

STORED = "stored"  # columns with this mark hold the SHA-256 of a file


def list_file(sha256: str, why: str, now: datetime) -> None:
    """This file goes once the transaction is saved, and no record names it any more."""
    session().add(FileToRemove(sha256=sha256, why=why, listed_at=now))


def waiting() -> Sequence[FileToRemove]:
    """What is listed and not removed yet, in the order in which it was listed."""
    return session().scalars(sa.select(FileToRemove).where(FileToRemove.removed_at.is_(None)).order_by(FileToRemove.id)).all()


def work_off(now: datetime) -> int:
    """Remove what is listed; how many files were. What a record still names, or the disk does not let go of, stays listed."""
    if not waiting():
        return 0
    with transaction():
        return sum(_remove(one, now) for one in waiting())


def _remove(listed: FileToRemove, now: datetime) -> bool:
    if is_named(listed.sha256):
        return False
    try:
        the_store().remove(listed.sha256)
    except OSError:
        current_app.logger.exception("A file that is listed for removal cannot be removed; it stays listed")
        return False
    listed.removed_at = now
    record(Event.FILE_REMOVED, listed, by=PROGRAM, now=now, before={"SHA-256": listed.sha256}, reason=listed.why)
    return True


def is_named(sha256: str) -> bool:
    """Whether a record names this file."""
    return any(session().execute(sa.select(sa.literal(1)).where(column == sha256).limit(1)).first()
               for table in Base.metadata.sorted_tables for column in table.columns if column.info.get(STORED))
