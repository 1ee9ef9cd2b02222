"""Whether everything is still what was written: journal chain, files against their hashes, rows against files, and what each
order is said to wait for against what its gates say."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

import sqlalchemy as sa
from flask import current_app

from app import clock
from app import migrate as schema
from app.backup import standing as tables_standing
from app.db import database, session
from app.errors import Unavailable
from app.journal import service as journal
from app.journal.models import JournalEntry
from app.kernel.local_forms import counted
from app.orders import standing
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
    older: str = ""

    @property
    def summary(self) -> str:
        found = counted(len(self.troubles), "mismatch", "mismatches") if self.troubles else "no mismatch found"
        return f"{self.older}Checked {self.entries} journal entries and {self.files} files: {found}."


def verify() -> Verified:
    """Look at everything. Nothing is changed or repaired. Unavailable if an older schema's journal cannot be read."""
    store = the_store()
    there = set(store.all())
    tables = tables_standing.tables_of(session().connection())
    older = _older(tables)
    named = list(_marked(tables, STORED))
    # What orders wait for and how they are found is worked out by this version's rules: of an older schema it is not compared.
    untrue = [] if older else [*standing.untrue(clock.now()), *search.differences(session())]
    troubles = [*_database(), *_chain(tables), *_files(there), *_rows(named, there), *untrue]
    orphans = len(there - {sha256 for sha256, _ in named})
    if orphans:
        troubles.append(f"{orphans} files in the store belong to no record (left by an interrupted upload; harmless)")
    entries = session().scalar(sa.select(sa.func.count()).select_from(JournalEntry)) or 0
    return Verified(tuple(troubles), entries, len(there), older)


def _older(tables: sa.MetaData) -> str:
    """What to say first of a database that an older version wrote, and what of it is not compared; "" for one of this version."""
    revision = schema.revision(session().connection())
    if revision == schema.newest():
        return ""
    chain = tables.tables.get(JournalEntry.__tablename__)
    if chain is None or not set(JournalEntry.__table__.columns.keys()) <= set(chain.columns.keys()):
        raise Unavailable(schema.still_older(revision, current_app.config["DATA"]))
    said = f"The database is at schema {revision}, older than this Tagstrip's {schema.newest()}, and was read as it stands. "
    if unknown := [name for name in tables_standing.unknown(tables) if name.endswith(("sha256", "hash"))]:
        said += f"Not compared, because this Tagstrip does not know it: {', '.join(unknown)}. "
    return said


def _marked(tables: sa.MetaData, mark: str) -> Iterator[tuple[str, str]]:
    """Every value of the columns with this mark, with its row in words."""
    for table in tables.sorted_tables:
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


def _chain(tables: sa.MetaData) -> Iterator[str]:
    for one in journal.verify():
        yield f"journal entry {one.seq} {one.why}"
    known = set(session().scalars(sa.select(JournalEntry.hash)))
    for value, row in _marked(tables, JOURNAL):
        if value not in known:  # the end of a chain can be cut off without a break in what is left
            yield f"{row} was issued after a journal entry that is not there"


def _files(there: set[str]) -> Iterator[str]:
    store = the_store()
    for sha256 in sorted(there):
        if hashlib.sha256(store.get(sha256)).hexdigest() != sha256:
            yield f"file {sha256} is not what was stored"


def _rows(named: list[tuple[str, str]], there: set[str]) -> Iterator[str]:
    for sha256, row in named:
        if sha256 not in there:
            yield f"{row} refers to a file that is not in the store"
