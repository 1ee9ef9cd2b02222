"""Writing to the journal. Called by every service, inside its transaction."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.journal.rules import GENESIS, PROGRAM_DEVICE, PROGRAM_NAME, Break, breaks, canonical, entry_hash, fresh_salt


@dataclass(frozen=True)
class Actor:
    """Who does it: person and the device they do it from. `person_id` is None for the program itself."""

    person_id: int | None
    name: str
    device: str


PROGRAM = Actor(None, PROGRAM_NAME, PROGRAM_DEVICE)


def record(event: Event, subject: Any, *, by: Actor, now: datetime, before: Mapping[str, Any] | None = None,
           after: Mapping[str, Any] | None = None, reason: str = "", order_id: int | None = None) -> JournalEntry:
    """Append one entry about `subject`, a stored record with an id.

    `before` and `after` hold the changed facts in words, as the history page will show them.
    `order_id` is taken from the subject where it has one.
    """
    current = session()
    current.flush()
    last = current.execute(sa.select(JournalEntry.seq, JournalEntry.hash)
                           .order_by(JournalEntry.seq.desc()).limit(1)).first()
    facts: dict[str, Any] = {
        "seq": last.seq + 1 if last else 1,
        "at": stamp(now),
        "person_id": by.person_id,
        "person_name": by.name,
        "device": by.device,
        "event": event.value,
        "subject_type": subject.__tablename__,
        "subject_id": subject.id,
        "order_id": order_id if order_id is not None else _order_of(subject),
        "before": canonical(before or {}),
        "after": canonical(after or {}),
        "reason": reason,
        "salt": fresh_salt(),
    }
    previous = last.hash if last else GENESIS
    entry = JournalEntry(**{**facts, "at": now}, previous_hash=previous, hash=entry_hash(previous, facts))
    current.add(entry)
    current.flush()
    return entry


def record_change(event: Event, subject: Any, before: Mapping[str, Any], after: Mapping[str, Any], *, by: Actor,
                  now: datetime) -> tuple[str, ...]:
    """Append what differs between the facts before and after; nothing if nothing does. The names of what differs."""
    changed = tuple(name for name in after if after[name] != before.get(name))
    if changed:
        record(event, subject, by=by, now=now, before={name: before[name] for name in changed if name in before},
               after={name: after[name] for name in changed})
    return changed


def head() -> str:
    """The hash of the newest entry: printed on paper, it pins all that came before."""
    found = session().scalar(sa.select(JournalEntry.hash).order_by(JournalEntry.seq.desc()).limit(1))
    return found or GENESIS


def verify() -> list[Break]:
    """Every break in the chain; an empty list when it holds."""
    return breaks(_stored(), erased_entries())


def erased_entries() -> dict[int, str]:
    """The entries from which a person was erased, and the hash of what stands there since, as the newest erasure of each says."""
    found: dict[int, str] = {}
    asked = sa.select(JournalEntry.seq, JournalEntry.after).where(JournalEntry.event == Event.ENTRIES_ERASED.value)
    for seq, after in session().execute(asked.order_by(JournalEntry.seq)):
        told = json.loads(after).get("entries", {})
        found.update({int(one): stands for one, stands in told.items() if int(one) < seq})
    return found


def _stored() -> Iterator[dict[str, Any]]:
    """Every entry with the columns that this database has: one of an older schema knows no salt."""
    entry: Any = JournalEntry.__table__
    there = {one["name"] for one in sa.inspect(session().connection()).get_columns(entry.name)}
    asked = sa.select(*[column for column in entry.columns if column.name in there]).order_by(entry.c.seq)
    for row in session().execute(asked.execution_options(yield_per=1000)).mappings():
        yield {**row, "at": stamp(row["at"])}


def stamp(moment: datetime) -> str:
    """A moment as it is hashed."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def _order_of(subject: Any) -> int | None:
    if subject.__tablename__ == "repair_order":
        found: int = subject.id
        return found
    return getattr(subject, "order_id", None)
