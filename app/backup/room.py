"""Whether a disk has room for what is to be written: looked at before anything is."""

from __future__ import annotations

import shutil
from pathlib import Path

import sqlalchemy as sa

from app.backup.tar import human
from app.errors import Unavailable
from app.photos.store import FolderStore

SPARE = 16 << 20  # bytes left free: a disk that is full to the last block serves nobody


def refuse_no_room(folder: Path, needed: int, what: str) -> None:
    """Unavailable if the disk of `folder` (or of the nearest folder above that is there) has not `needed` bytes free."""
    there = next(one for one in (folder.absolute(), *folder.absolute().parents) if one.is_dir())
    free = shutil.disk_usage(there).free
    if free < needed + SPARE:
        raise Unavailable(f"There is no room in {there} for {what}: about {human(needed)} is needed, and {human(free)} is free.")


def bytes_of(engine: sa.Engine, store: FolderStore) -> int:
    """How much a shop takes, about: the database with its indexes, and every file."""
    if engine.dialect.name == "sqlite":
        asked = "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
    else:
        asked = "SELECT pg_database_size(current_database())"
    with engine.connect() as connection:
        rows = int(connection.execute(sa.text(asked)).scalar() or 0)
    return rows + sum(store.size(sha256) for sha256 in store.all())
