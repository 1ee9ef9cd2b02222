"""Writing everything into one file."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

import sqlalchemy as sa

from app import clock
from app import migrate as schema
from app.backup import archive as form
from app.backup import rows
from app.backup.manifest import Manifest
from app.backup.room import bytes_of, refuse_no_room
from app.db import database
from app.errors import BadInput, Unavailable
from app.photos.store import DamagedFile, FolderStore, sync_folder, the_store

PART = ".part"


@dataclass(frozen=True)
class Made:
    """How much was kept, the root over it, the newest entry of the journal that it holds, and what did not fit in the shop."""

    files: int
    bytes: int
    root: str
    head: str
    at: datetime
    troubles: tuple[str, ...] = ()


def backup(path: Path, troubles: Sequence[str] = (), at: datetime | None = None) -> Made:
    """Everything of the running application in one file; `troubles` are what was found not to fit in it, `at` the moment of
    which it is, if that was before now."""
    return write(path, database().engine, the_store(), troubles, at)


def write(path: Path, engine: sa.Engine, store: FolderStore, troubles: Sequence[str] = (), at: datetime | None = None) -> Made:
    """Database rows as of one moment, then the files (which never change). Good only after it was read back.

    The tables are what the database itself tells: no model is needed, so it may stand at an older schema.
    """
    if path.exists():
        raise BadInput(f"{path} is there already; choose another name.")
    refuse_no_room(path.parent, bytes_of(engine, store), "the backup")
    part = path.with_name(path.name + PART)
    at = at or clock.now()
    with _alone(part) as file:
        try:
            manifest, files = _write(file, engine, store, troubles, at)
            file.flush()
            os.fsync(file.fileno())
            _from_the_disk(file)
            _read_back(part, manifest)
            part.rename(path)
            sync_folder(path.parent)
        finally:
            part.unlink(missing_ok=True)
    return Made(files, path.stat().st_size, manifest.root, manifest.journal_head, at, manifest.troubles)


def clear_parts(folder: Path) -> None:
    """Take away what backups that were killed have left here; what another process writes at the moment stays."""
    for part in folder.glob(f"*.tar{PART}"):
        with part.open("r+b") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                continue
            part.unlink(missing_ok=True)


@contextmanager
def _alone(part: Path) -> Iterator[BinaryIO]:
    """The unfinished file, ours alone."""
    with part.open("a+b") as mine:
        try:
            fcntl.flock(mine, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as taken:
            raise Unavailable(f"Another backup writes {part} at the moment. Wait for it, or choose another name.") from taken
        with part.open("r+b") as file:
            file.truncate()
            yield file


def _read_back(part: Path, written: Manifest) -> None:
    try:
        found = form.check(part)
    except BadInput as wrong:
        raise Unavailable(f"The backup was written and could not be read back, so it was taken away: {wrong.words} "
                          "Look at the disk, or choose another one.") from wrong
    if found.identity != written.identity:
        raise Unavailable("The backup was written and another one was read back, so it was taken away. Look at the disk.")


def _from_the_disk(file: BinaryIO) -> None:
    """Let the system forget what it has in memory of this file, so that reading it back reads the disk."""
    if hasattr(os, "posix_fadvise"):
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _write(file: BinaryIO, engine: sa.Engine, store: FolderStore, troubles: Sequence[str],
           at: datetime) -> tuple[Manifest, int]:
    with closing(form.Writer(file)) as archive:
        isolation = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
        with engine.connect().execution_options(**isolation) as connection, connection.begin():
            revision = schema.revision(connection) or ""
            head = connection.execute(sa.text("SELECT hash FROM journal_entry ORDER BY seq DESC LIMIT 1")).scalar() or ""
            tables = sa.MetaData()
            tables.reflect(connection, only=rows.worth_reading)
            for table in rows.kept(tables):
                archive.add(f"tables/{table.name}.jsonl", form.jsonl(rows.dump(connection, table)))
        unreadable = []
        for sha256 in store.all():
            try:
                archive.add(f"files/{sha256}", store.as_it_lies(sha256))
            except DamagedFile as wrong:
                unreadable.append(f"{wrong.words}; it is not in this backup")
        return archive.end(revision, at.isoformat(), head, (*troubles, *unreadable)), archive.files
