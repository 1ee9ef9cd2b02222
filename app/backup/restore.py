"""Making a shop from a backup file: on the side first, then under its name in one step.

The database is made, filled and compared in one transaction, whichever engine. Where it lies outside the data folder (PostgreSQL),
a kill between that transaction's end and the new folder's name leaves the folder beside its place, whole: the same command once
more gives it its name.
"""

from __future__ import annotations

import hashlib
import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import sqlalchemy as sa
from sqlalchemy.exc import DatabaseError

from app import config
from app import migrate as schema
from app.backup import archive as form
from app.backup import remembered, rows
from app.backup.manifest import Manifest
from app.backup.room import refuse_no_room
from app.backup.tar import human
from app.db import opened
from app.errors import BadInput, RuleBroken, Unavailable
from app.photos.store import FolderStore, open_store, sync_folder

FILLED = "filled-from"  # in the unfinished folder: whose content it and the database hold
ROWS_GROW = 4  # a row in the database, with its indexes and search entry, beside its line in the backup. Measured: about 2.


@dataclass(frozen=True)
class Restored:
    """Of when the backup is, its root, and what did not fit in the shop then."""

    made_at: str
    root: str
    troubles: tuple[str, ...]


def restore(path: Path, data: Path) -> Restored:
    """Check the whole file, then build `data` beside its place and rename it there. Refuses a place that is taken.

    RuleBroken, and nothing is left of it, if anything is wrong; an older schema is brought to this version's.
    """
    if data.exists() and (not data.is_dir() or any(data.iterdir())):
        raise BadInput(f"{data} is not empty; restore into a new folder, then serve that one.")
    data = data.resolve()
    aside = data.with_name(data.name + ".restoring")
    with path.open("rb") as file:
        try:
            manifest = _checked(file, data)
            if not _was_filled(aside, manifest):
                shutil.rmtree(aside, ignore_errors=True)
                _build(file, manifest, aside)
        except BaseException as wrong:
            _clear_away(aside)
            if isinstance(wrong, RuleBroken):
                wrong.words = f"{wrong.words} Nothing was restored."
                wrong.args = (wrong.words,)
            raise
    config.database_is_there(aside)
    sync_folder(aside)
    aside.rename(data)
    sync_folder(data.parent)
    (data / FILLED).unlink()
    return Restored(manifest.made_at, manifest.root, manifest.troubles)


def _checked(file: BinaryIO, data: Path) -> Manifest:
    """Headers and sizes, room on the disk, and only then the content."""
    manifest = form.told_by(file)
    if manifest.revision not in schema.known():
        raise Unavailable(f"The backup was written by a newer Tagstrip (schema {manifest.revision}). Use that version.")
    files, tables = form.sizes(file)
    refuse_no_room(data, files + ROWS_GROW * tables, f"what the backup holds ({human(files + tables)})")
    return form.checked(file)


def _build(file: BinaryIO, manifest: Manifest, aside: Path) -> None:
    settings = config.load(aside)
    store = open_store(settings.photo_url)

    def fill(connection: sa.Connection) -> None:
        tables = sa.MetaData()
        tables.reflect(connection, only=rows.worth_reading)
        _fill(connection, tables, file, manifest, store)
        if connection.dialect.name == "postgresql":
            _set_counters(connection, tables)
        remembered.restored(aside, manifest.made_at)
        _note(aside / FILLED, manifest.identity)

    with opened(settings.database_url) as engine:
        try:
            schema.build(engine, manifest.revision, fill)
        except (ValueError, TypeError, LookupError) as wrong:  # what damage makes of a value, nobody can foresee
            raise BadInput(f"The records in the backup were damaged when it was made, and cannot be read: {wrong}. Restore an "
                           "older backup. What this one holds stands in it as plain JSON, in the members under tables/.") from wrong


def _was_filled(aside: Path, manifest: Manifest | None) -> bool:
    """Whether an earlier run was ended after its last commit: then only the name is missing. From this backup, or from any."""
    note = aside / FILLED
    if not note.is_file() or (manifest and note.read_text(encoding="ascii") != manifest.identity):
        return False
    try:
        settings = config.load(aside)
    except Unavailable:  # its database is empty or gone: nothing was committed
        return False
    with opened(settings.database_url) as engine, engine.connect() as connection:
        if schema.revision(connection) != schema.newest():
            return False
        head = sa.text("SELECT 1 FROM journal_entry WHERE hash = :head")
        return not manifest or not manifest.journal_head or bool(connection.scalar(head, {"head": manifest.journal_head}))


def _clear_away(aside: Path) -> None:
    """After a failure: nothing is left, unless the database may hold what the folder belongs to."""
    try:
        keep = _was_filled(aside, None)
    except DatabaseError:  # it does not answer: nobody knows
        keep = True
    if not keep:
        shutil.rmtree(aside, ignore_errors=True)


def _fill(connection: sa.Connection, reflected: sa.MetaData, file: BinaryIO, manifest: Manifest, store: FolderStore) -> None:
    tables = {f"tables/{table.name}.jsonl": table for table in rows.kept(reflected)}
    for name, blocks in form.contents(file, manifest):
        sha256 = name.removeprefix("files/")
        if sha256 != name:
            if not store.has(sha256) or store.is_damaged(sha256):  # a store that others use keeps what is whole
                store.keep_blocks(sha256, blocks)
        elif name in tables:
            table, found = tables[name], hashlib.sha256()
            rows.load(connection, table, form.rows(name, form.hashed(blocks, found)))
            if manifest.root and _hash(connection, table) != found.hexdigest():
                raise Unavailable(f"What was loaded into {table.name} does not read as it stands in the backup.")
        elif rows.is_kept(name.removeprefix("tables/").removesuffix(".jsonl")):
            raise BadInput(f"The backup holds {name}, and schema {manifest.revision} has no such table.")


def _hash(connection: sa.Connection, table: sa.Table) -> str:
    return form.hash_of(form.jsonl(rows.dump(connection, table)))


def _note(path: Path, text: str) -> None:
    with path.open("x", encoding="ascii") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    sync_folder(path.parent)


def _set_counters(connection: sa.Connection, tables: sa.MetaData) -> None:
    """PostgreSQL counts ids on the side: set each counter behind the highest id that was loaded."""
    for table in rows.kept(tables):
        name = connection.execute(sa.text("SELECT pg_get_serial_sequence(:t, 'id')"), {"t": table.name}).scalar() \
            if "id" in table.columns else None
        if name:
            top = connection.execute(sa.select(sa.func.max(table.c.id))).scalar()
            if top:
                connection.execute(sa.text("SELECT setval(CAST(:s AS regclass), :n)"), {"s": name, "n": top})
