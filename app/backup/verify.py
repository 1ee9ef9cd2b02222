"""Whether everything is still what was written: journal chain, files against their hashes, rows against files."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import Base, database, session
from app.journal import service as journal
from app.journal.models import JournalEntry
from app.photos.store import the_store
from app.search import service as search

STORED = "stored"  # a column marked info={"stored": True} holds the SHA-256 of a file in the store
JOURNAL = "journal"  # one marked info={"journal": True} holds the hash of an entry of the journal


@dataclass(frozen=True)
class Verified:
    """What does not fit, each in a sentence, and what was looked at."""

    troubles: tuple[str, ...]
    entries: int
    files: int

    @property
    def summary(self) -> str:
        found = f"{len(self.troubles)} do not fit" if self.troubles else "all in order"
        return f"Looked at {self.entries} journal entries and {self.files} files: {found}."


def verify() -> Verified:
    """Look at everything. Nothing is changed or repaired."""
    store = the_store()
    there = set(store.all())
    wanted = {sha256 for sha256, _ in referred_to()}
    troubles = [*_database(), *_chain(), *_files(there), *_rows(there), *search.differences(session())]
    orphans = len(there - wanted)
    if orphans:
        troubles.append(f"{orphans} files in the store belong to no record (left by an interrupted upload; harmless)")
    entries = session().scalar(sa.select(sa.func.count()).select_from(JournalEntry)) or 0
    return Verified(tuple(troubles), entries, len(there))


def referred_to() -> Iterator[tuple[str, str]]:
    """Every hash of a stored file that a row holds, with the row in words."""
    return _marked(STORED)


def _marked(mark: str) -> Iterator[tuple[str, str]]:
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            if column.info.get(mark):
                for key, value in session().execute(sa.select(table.c.id, column).where(column.is_not(None))):
                    yield value, f"{table.name} {key}"


def _database() -> Iterator[str]:
    if database().engine.dialect.name != "sqlite":
        return
    for (said,) in session().execute(sa.text("PRAGMA integrity_check")):
        if said != "ok":
            yield f"the database says: {said}"
    for table, row, parent, _ in session().execute(sa.text("PRAGMA foreign_key_check")):
        yield f"{table} row {row} points at a {parent} that is not there"


def _chain() -> Iterator[str]:
    for one in journal.verify():
        yield f"journal entry {one.seq} {one.why}"
    known = set(session().scalars(sa.select(JournalEntry.hash)))
    for value, row in _marked(JOURNAL):
        if value not in known:  # the end of a chain can be cut off without a break in what is left
            yield f"{row} was issued after a journal entry that is not there"


def _files(there: set[str]) -> Iterator[str]:
    store = the_store()
    for sha256 in sorted(there):
        if hashlib.sha256(store.get(sha256)).hexdigest() != sha256:
            yield f"file {sha256} is not what was stored"


def _rows(there: set[str]) -> Iterator[str]:
    for sha256, row in referred_to():
        if sha256 not in there:
            yield f"{row} refers to a file that is not in the store"
