"""Reading the journal back, in words."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.journal.events import phrase
from app.journal.models import JournalEntry


@dataclass(frozen=True)
class Change:
    """One fact: its name, what stood, what stands. None where it did not stand."""

    name: str
    before: str | None
    after: str | None


@dataclass(frozen=True)
class Line:
    """One entry as the history page shows it."""

    seq: int
    at: datetime
    who: str
    device: str
    phrase: str
    reason: str
    changes: tuple[Change, ...]
    hash: str


def of_order(order_id: int) -> list[Line]:
    """All that happened to a repair order and to what belongs to it, newest first."""
    return _lines(JournalEntry.order_id == order_id)


def of_record(subject_type: str, subject_id: int) -> list[Line]:
    """All that happened to one record, newest first."""
    return _lines(sa.and_(JournalEntry.subject_type == subject_type, JournalEntry.subject_id == subject_id))


def _lines(where: sa.ColumnElement[bool]) -> list[Line]:
    found = session().scalars(sa.select(JournalEntry).where(where).order_by(JournalEntry.seq.desc()))
    return [_line(entry) for entry in found]


def _line(entry: JournalEntry) -> Line:
    before: dict[str, Any] = json.loads(entry.before)
    after: dict[str, Any] = json.loads(entry.after)
    names = list(dict.fromkeys([*after, *before]))
    changes = tuple(Change(name.replace("_", " "), _say(before.get(name)), _say(after.get(name)))
                    for name in names if before.get(name) != after.get(name) or name not in before)
    return Line(entry.seq, entry.at, entry.person_name, entry.device, phrase(entry.event), entry.reason,
                changes, entry.hash)


def _say(value: Any) -> str | None:
    if value is None:
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(v) for v in value)
    return str(value)
