"""Whether everything is still what was written: the journal's chain, every row against its seal in the journal, triggers and
indexes, files against their hashes, rows against files, and what each order is said to wait for against what its gates say."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

import sqlalchemy as sa
from flask import current_app

from app import clock
from app import migrate as schema
from app.backup import rows
from app.backup import standing as tables_standing
from app.backup.archive import hash_of, jsonl
from app.backup.manifest import Root
from app.db import Base, database, session
from app.errors import BadInput, Unavailable
from app.journal import seals, triggers
from app.journal import service as journal
from app.journal.models import JournalEntry
from app.journal.rules import COVERED
from app.kernel.local_forms import counted
from app.orders import standing
from app.photos.models import FileToRemove
from app.photos.store import the_store
from app.search import service as search

STORED = "stored"  # a column marked info={"stored": True} holds the SHA-256 of a file in the store
_T = TypeVar("_T")
JOURNAL = "journal"  # one marked info={"journal": True} holds the hash of an entry of the journal


@dataclass(frozen=True)
class Verified:
    """What does not fit, each in a sentence, and what was looked at."""

    troubles: tuple[str, ...]
    entries: int
    rows: int
    files: int
    orphans: tuple[str, ...] = ()  # files that no record names: no mismatch
    older: str = ""
    head: str = ""  # what was said of the head that was asked about
    tidied: bool = False
    erased: int = 0  # journal entries from which a person was erased
    root: str = ""  # over every row and file, as a backup of the same moment has it; "" if some cannot be read
    newest: tuple[int, str] = (0, "")  # number and hash of the journal's newest entry

    @property
    def fingerprint(self) -> str:
        """Root and head: two shops in which they are the same hold the same rows, files and journal."""
        return (f"Root of all tables and files: {self.root or 'not worked out, as not everything can be read'}\n"
                f"Journal: entry {self.newest[0]}, {self.newest[1] or 'none'}")

    @property
    def summary(self) -> str:
        found = counted(len(self.troubles), "mismatch", "mismatches") if self.troubles else "no mismatch found"
        looked = f"{self.entries} journal entries, {self.rows} records and {self.files} files"
        beside = ""
        if self.orphans:
            beside = f" {counted(len(self.orphans), 'file')} that no record names (an upload was interrupted): " + (
                "put aside, in the folder put-aside." if self.tidied else "--tidy puts aside what is so.")
        if self.erased:
            beside += (f" {counted(self.erased, 'journal entry', 'journal entries')} had a person erased: the chain holds over "
                       "them, what they said before is gone.")
        return f"{self.older}{self.head}Checked {looked}: {found}.{beside}"


def verify(head: str = "") -> Verified:
    """Look at everything. Nothing is changed or repaired. Unavailable if an older schema's journal cannot be read.

    `head` is a hash of the journal as a paper prints it, or its beginning: whether the journal still holds that entry.
    """
    session().rollback()
    one_moment = {} if database().engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    session().connection(execution_options=one_moment)
    tables = tables_standing.tables_of(session().connection())
    older = _older(tables)
    there = set(the_store().all())
    named: list[tuple[str, str]] = []
    troubles: list[str] = []

    def look(what: str, found: Callable[[], Iterable[str]]) -> None:
        """Damage may break the question itself, in any way: then that is the finding, and the rest is looked at still."""
        try:
            troubles.extend(found())
        except Exception as wrong:  # noqa: BLE001 - see above
            session().rollback()
            troubles.append(f"{what} cannot be read: {_in_a_line(wrong)}")

    look("the database", _database)
    look("the journal", lambda: _chain(tables))
    look("the records", lambda: (f"{name} {why}" for name, why in seals.compared(session().connection())))
    look("the list of files", lambda: _noted(named, _marked(tables, STORED)))
    root = Root()
    look("the folder of files", lambda: _files(there, root))
    look("the list of files", lambda: _rows(named, there))
    look("the list of files that are to go", lambda: _going(tables, named, there))
    if not older:  # what orders wait for and how they are found is worked out by this version's rules
        look("what orders wait for", lambda: standing.untrue(clock.now()))
        look("the search", lambda: search.differences(session()))
    said = ""
    if head:
        said, missing = _head(head.strip().lower())
        troubles.extend(missing)
    look("the root", lambda: _tables(root))
    readable_all = not any(" cannot be read: " in one for one in troubles)
    counted_so: list[int] = []
    look("the journal", lambda: _noted(counted_so, _counts()))
    entries, sealed = counted_so or (0, 0)
    erased: list[int] = []
    look("the journal", lambda: _noted(erased, journal.erased_entries()))
    readable = not any(one.startswith("the list of files") for one in troubles)
    orphans = tuple(sorted(there - {sha256 for sha256, _ in named})) if readable else ()
    return Verified(tuple(troubles), entries, sealed, len(there), orphans, older, said, erased=len(erased),
                    root=root.hex() if readable_all else "", newest=_newest() if readable_all else (0, ""))


def tidy(orphans: Iterable[str]) -> None:
    """Put aside the files that no record names. Only while nobody else works on the folder: an upload comes before its row."""
    for sha256 in orphans:
        the_store().put_aside(sha256)


def _noted(list_: list[_T], found: Iterable[_T]) -> tuple[()]:
    """Look, and keep what was found: of itself it is no mismatch."""
    list_.extend(found)
    return ()


def _counts() -> tuple[int, int]:
    """How many entries and sealed records there are."""
    entries = session().scalar(sa.select(sa.func.count()).select_from(JournalEntry)) or 0
    return entries, len(seals.last_seals(session().connection()))


def _in_a_line(wrong: Exception) -> str:
    told = str(wrong.orig) if isinstance(wrong, sa.exc.DBAPIError) and wrong.orig is not None else str(wrong)
    return " ".join(told.split())[:200]


def _head(head: str) -> tuple[str, list[str]]:
    """What is known of the entry with this hash."""
    if not re.fullmatch(r"[0-9a-f]{8,64}", head):
        raise BadInput(f"“{head}” is not the head of a journal: give the letters 0-9 and a-f as the paper prints them, at least 8.")
    found = session().scalars(sa.select(JournalEntry).where(JournalEntry.hash.startswith(head))).first()
    if found is None:
        return "", [f"no journal entry has the hash {head}: the paper is of another shop, or the journal was rewritten since"]
    return (f"The journal holds that head: entry {found.seq} of {found.at:%Y-%m-%d %H:%M} UTC. What was entered up to it is what "
            "was entered then, if no mismatch of the journal is named here. "), []


def _older(tables: sa.MetaData) -> str:
    """What to say first of a database that an older version wrote, and what of it is not compared; "" for one of this version."""
    revision = schema.revision(session().connection())
    if revision == schema.newest():
        return ""
    chain = tables.tables.get(JournalEntry.__tablename__)
    if chain is None or not {*COVERED, "hash", "previous_hash"} <= set(chain.columns.keys()):
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
    yield from _structure()
    if database().engine.dialect.name != "sqlite":
        return
    for (said,) in session().execute(sa.text("PRAGMA integrity_check")):
        if said != "ok":
            yield f"the database says: {said}"
    for table, row, parent, _ in session().execute(sa.text("PRAGMA foreign_key_check")):
        yield f"{table} row {row} points at a {parent} that is not there"


def _structure() -> Iterator[str]:
    """Triggers and, at this version's schema, indexes that should be there."""
    connection = session().connection()
    for name in triggers.missing(connection):
        yield f"the trigger {name}, which refuses what must not be done, is not there or was changed"
    for what in triggers.strange(connection):
        yield f"the database has {what} that Tagstrip did not make: it acts on what is saved"
    if schema.revision(connection) != schema.newest():
        return
    asked = sa.inspect(connection)
    for table in Base.metadata.sorted_tables:
        there = {one["name"]: one for one in asked.get_indexes(table.name)}
        for index in sorted(table.indexes, key=lambda one: str(one.name)):
            found = there.get(str(index.name))
            if found is None:
                yield f"the index {index.name} of {table.name} is not there"
            elif bool(found["unique"]) != bool(index.unique):
                now = "no longer" if index.unique else "now"
                yield f"the index {index.name} of {table.name} was changed: it {now} refuses doubles"


def _chain(tables: sa.MetaData) -> Iterator[str]:
    for one in journal.verify():
        yield f"journal entry {one.seq} {one.why}"
    if schema.revision(session().connection()) == schema.newest() and not seals.last_seals(session().connection()):
        for table in tables.sorted_tables:  # every save leaves a seal
            if seals.sealed(table.name) and session().execute(sa.select(sa.literal(1)).select_from(table).limit(1)).first():
                yield f"the journal holds no seal of any record, and there are records of {table.name}: the journal was emptied"
                break
    known = set(session().scalars(sa.select(JournalEntry.hash)))
    for value, row in _marked(tables, JOURNAL):
        if value not in known:  # the end of a chain can be cut off without a break in what is left
            yield f"{row} was issued after a journal entry that is not there"


def _files(there: set[str], root: Root) -> Iterator[str]:
    store = the_store()
    for sha256 in sorted(there):
        try:
            found = store.hash_of(sha256)
        except FileNotFoundError:  # put aside meanwhile
            continue
        except OSError as wrong:
            yield f"file {sha256} cannot be read: {wrong.strerror}"
            continue
        root.add(f"files/{sha256}", found)
        if found != sha256:
            yield f"file {sha256} is not what was stored"


def _going(tables: sa.MetaData, named: list[tuple[str, str]], there: set[str]) -> Iterator[str]:
    """Files that an erasure or a shop's choice let go of, and that lie in the store still."""
    going = tables.tables.get(FileToRemove.__tablename__)
    if going is None:
        return
    kept = {sha256 for sha256, _ in named}
    for (sha256,) in session().execute(sa.select(going.c.sha256).distinct().order_by(going.c.sha256)):
        if sha256 in there and sha256 not in kept:
            yield f"file {sha256} is to be removed and is still there: start Tagstrip once, which removes it"


def _tables(root: Root) -> Iterator[str]:
    """Adds every table to the root: as the database tells them, like a backup."""
    connection = session().connection()
    told = sa.MetaData()
    told.reflect(connection, only=rows.worth_reading)
    for table in rows.kept(told):
        root.add(f"tables/{table.name}.jsonl", hash_of(jsonl(rows.dump(connection, table))))
    yield from ()


def _newest() -> tuple[int, str]:
    found = session().execute(sa.select(JournalEntry.seq, JournalEntry.hash).order_by(JournalEntry.seq.desc()).limit(1)).first()
    return (found.seq, found.hash) if found else (0, "")


def _rows(named: list[tuple[str, str]], there: set[str]) -> Iterator[str]:
    for sha256, row in named:
        if sha256 not in there:
            yield f"{row} refers to a file that is not in the store"
