"""Writing everything into one file."""

from __future__ import annotations

import os
import tarfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from app import clock
from app import migrate as schema
from app.backup import archive as form
from app.backup import rows
from app.db import database
from app.errors import BadInput
from app.photos.store import FolderStore, sync_folder, the_store


@dataclass(frozen=True)
class Made:
    """How much was kept."""

    files: int
    bytes: int


def backup(path: Path, troubles: Sequence[str] = ()) -> Made:
    """Everything of the running application in one file; `troubles` are what was found not to fit in it."""
    return write(path, database().engine, the_store(), troubles)


def write(path: Path, engine: sa.Engine, store: FolderStore, troubles: Sequence[str] = ()) -> Made:
    """Database rows as of one moment, then the files (which never change). Good only after it was read back.

    The tables are what the database itself tells: no model is needed, so it may stand at an older schema.
    """
    if path.exists():
        raise BadInput(f"{path} is there already; choose another name.")
    part = path.with_name(path.name + ".part")
    try:
        with tarfile.open(part, "w:") as archive:
            _write(archive, engine, store, troubles)
        form.check(part)
        with part.open("rb") as written:
            os.fsync(written.fileno())
        part.rename(path)
        sync_folder(path.parent)
    finally:
        part.unlink(missing_ok=True)
    return Made(sum(1 for _ in store.all()), path.stat().st_size)


def _write(archive: tarfile.TarFile, engine: sa.Engine, store: FolderStore, troubles: Sequence[str]) -> None:
    members: dict[str, dict[str, Any]] = {}
    isolation = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    with engine.connect().execution_options(**isolation) as connection, connection.begin():
        revision = schema.revision(connection) or ""
        head = connection.execute(sa.text("SELECT hash FROM journal_entry ORDER BY seq DESC LIMIT 1")).scalar() or ""
        tables = sa.MetaData()
        tables.reflect(connection, only=rows.worth_reading)
        for table in rows.kept(tables):
            form.add(archive, f"tables/{table.name}.jsonl", form.jsonl(rows.dump(connection, table)), members)
    for sha256 in store.all():
        form.add(archive, f"files/{sha256}", store.as_it_lies(sha256), members)
    manifest = form.Manifest(revision, clock.now().isoformat(), head, members, tuple(troubles))
    form.add(archive, form.MANIFEST, manifest.as_json(), {})
