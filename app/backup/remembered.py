"""When the last good backup of this shop was made: kept in a small file of the data folder, beside the database.

Not in the database: a backup cannot hold the row that says it succeeded, so a restored shop would tell of the backup before. The
file is in no backup; a restored shop starts with one that says of which backup it was made.
"""

from __future__ import annotations

import enum
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from flask import current_app
from sqlalchemy.orm import aliased

from app import clock
from app.backup.backup import Made
from app.config import write_whole
from app.db import database, session
from app.journal.models import JournalEntry

FILE = "last-backup.json"
_HELD = "backup head that the journal holds"
WRITTEN_MEANWHILE = timedelta(minutes=10)  # an entry's moment is of before its save, which may have waited for others
Holds = Callable[[str, datetime], bool]


class Kind(enum.StrEnum):
    """What is known of the backups of a shop."""

    NEVER = "never"  # none since the shop was opened, or restored
    GOOD = "good"
    OLD = "old"
    AHEAD = "ahead"  # dated after now: the clock was changed
    UNREADABLE = "unreadable"


@dataclass(frozen=True)
class Standing:
    """What the pages say: of when the last good backup is, and what came of a later one of a shop that did not fit."""

    kind: Kind
    at: datetime | None = None
    file: str = ""
    root: str = ""
    mismatches: int = 0  # of the newest backup, if it is newer than the last good one
    newest_at: datetime | None = None
    restored_from: datetime | None = None

    @property
    def warns(self) -> bool:
        return self.kind is not Kind.GOOD or bool(self.mismatches)


def remember(data: Path, file: Path, made: Made) -> None:
    """A backup was written and read back: kept as the newest, and as the last good one if all fitted. OSError if it cannot be."""
    told = _read(data) or {}
    one = {"at": made.at.isoformat(), "file": str(file.resolve()), "root": made.root, "head": made.head,
           "mismatches": len(made.troubles)}
    _write(data, {**told, "newest": one} | ({} if made.troubles else {"good": one}))


def restored(data: Path, made_at: str) -> None:
    """This folder is made from a backup of that moment; of itself there is none yet."""
    _write(data, {"restored_from": made_at})


def standing(data: Path, now: datetime, most_days: int, holds: Holds) -> Standing:
    """What the file tells, held against the clock and the journal: `holds` says whether its newest entry then was that one."""
    told = _read(data)
    if told is None:
        return Standing(Kind.UNREADABLE)
    try:
        return _standing(told, now, most_days, holds)
    except (KeyError, TypeError, ValueError):
        return Standing(Kind.UNREADABLE)


def of_this_shop(most_days: int) -> Standing:
    """The same of the running application. The journal is asked once for each backup: what it holds it goes on holding."""
    def holds(head: str, at: datetime) -> bool:
        memory = database().memory
        if memory.get(_HELD) != (head, at) and session().scalar(_held(head, at)):
            memory[_HELD] = (head, at)
        return memory.get(_HELD) == (head, at)

    return standing(current_app.config["DATA"], clock.now(), most_days, holds)


def _held(head: str, at: datetime) -> sa.Select[int]:
    """Whether the journal has this entry, and none of after it and of well before `at`, which a backup of then would hold."""
    entry, later = aliased(JournalEntry), aliased(JournalEntry)
    return sa.select(entry.seq).where(entry.hash == head,
                                      ~sa.exists().where(later.seq > entry.seq, later.at < at - WRITTEN_MEANWHILE))


def _standing(told: dict[str, Any], now: datetime, most_days: int, holds: Holds) -> Standing:
    good, newest = told.get("good"), told.get("newest")
    since = datetime.fromisoformat(told["restored_from"]) if "restored_from" in told else None
    damaged = int(newest["mismatches"]) if newest else 0
    newest_at = datetime.fromisoformat(newest["at"]) if newest else None
    at = datetime.fromisoformat(good["at"]) if good else None
    # One that the journal does not hold: the database was exchanged for an older one or another shop's, or the file was.
    if not good or at is None or not holds(str(good["head"]), at):
        return Standing(Kind.NEVER, mismatches=damaged, newest_at=newest_at, restored_from=since)
    kind = Kind.AHEAD if at > now + timedelta(hours=1) else Kind.OLD if now - at > timedelta(days=most_days) else Kind.GOOD
    return Standing(kind, at, str(good["file"]), str(good["root"]), damaged, newest_at, since)


def _read(data: Path) -> dict[str, Any] | None:
    """What the file holds; None if it cannot be read, {} if there is none."""
    try:
        told = json.loads((data / FILE).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError):
        return None
    return told if isinstance(told, dict) else None


def _write(data: Path, told: dict[str, Any]) -> None:
    write_whole(data / FILE, json.dumps(told, indent=1))
