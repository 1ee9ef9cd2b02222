"""Taking a person out of the journal without breaking its chain.

An entry keeps its own hash, so that the chain and every head on paper still hold; what it says is written anew, and its salt is
destroyed, so that nobody can find out by trial what its hash was of. A later entry (`entries:erased`) holds, for each entry that
was written anew, the hash of what stands there since: that is what `verify` holds it against from then on. Seals are hashes of
rows without a salt: those of the rows that named the person are taken out of their entries too.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any

import sqlalchemy as sa

from app.journal.events import Event
from app.journal.models import JournalEntry
from app.journal.rules import canonical, entry_hash
from app.journal.service import stamp

AT_ONCE = 2000  # entries named in one
Said = tuple[str, str, str]  # what stood, what stands, why: JSON, JSON, words
Anew = Callable[[Mapping[str, Any]], Said]


def write_anew(connection: sa.Connection, anew: Anew, rows: Collection[str]) -> tuple[dict[int, str], int]:
    """Write each entry as `anew` says it, and take the seals of `rows` ("table key") out of theirs.

    The entries that changed, each with the hash of what stands there now; and how many of them had no salt, being of before
    there was one. The triggers are to be lifted, and the entries to be named in a later one, by whoever calls.
    """
    entry: Any = JournalEntry.__table__
    changed: dict[int, str] = {}
    unsalted = 0
    for facts, (before, after, reason) in list(_changed(connection, anew, frozenset(rows))):
        now = {**facts, "before": before, "after": after, "reason": reason, "salt": ""}
        connection.execute(sa.update(entry).where(entry.c.seq == facts["seq"])
                           .values(before=before, after=after, reason=reason, salt=""))
        changed[facts["seq"]] = entry_hash(facts["previous_hash"], {**now, "at": stamp(facts["at"])})
        unsalted += not facts["salt"]
    return changed, unsalted


def named(changed: Mapping[int, str]) -> Iterator[dict[str, str]]:
    """The same in parts, as the entries that name them hold them."""
    every = [(str(seq), stands) for seq, stands in sorted(changed.items())]
    for at in range(0, len(every), AT_ONCE):
        yield dict(every[at:at + AT_ONCE])


def _changed(connection: sa.Connection, anew: Anew, rows: frozenset[str]) -> Iterator[tuple[dict[str, Any], Said]]:
    table: Any = JournalEntry.__table__
    for row in connection.execute(sa.select(table).order_by(table.c.seq).execution_options(yield_per=1000)).mappings():
        facts = dict(row)
        stood = (facts["before"], facts["after"], facts["reason"])
        if facts["event"] == Event.RECORDS_SEALED.value:
            stands = (_without(facts["before"], rows), _without(facts["after"], rows), facts["reason"])
        else:
            stands = anew(facts)
        if stands != stood:
            yield facts, stands


def _without(told: str, rows: frozenset[str]) -> str:
    seals: dict[str, Any] = json.loads(told)
    left = {name: seal for name, seal in seals.items() if name not in rows}
    return canonical(left) if len(left) < len(seals) else told
