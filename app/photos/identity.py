"""Which folder of photos belongs to which database: the folder bears an id, and the database knows it.

Two servers on one PostgreSQL must not keep their photos in two folders: each would miss half of them.
"""

from __future__ import annotations

import secrets
from datetime import datetime

import sqlalchemy as sa

from app.config import write_whole
from app.db import queue_to_write
from app.errors import Unavailable
from app.photos.models import PhotoStore
from app.photos.store import FolderStore

FILE = "store-id"


def of_store(store: FolderStore) -> str:
    """The folder's id; empty if it has none yet."""
    try:
        return (store.root / FILE).read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return ""


def give(store: FolderStore, key: str) -> None:
    """Write the folder's id, whole and synced."""
    write_whole(store.root / FILE, key)


def known(connection: sa.Connection) -> str:
    """The id of the folder that this database's files lie in; empty if it was never served, or is of an older schema."""
    if not sa.inspect(connection).has_table(PhotoStore.__tablename__):
        return ""
    return connection.scalar(sa.select(PhotoStore.key)) or ""


def refuse_other(engine: sa.Engine, store: FolderStore) -> None:
    """Unavailable if the database knows a folder, and this is another."""
    with engine.connect() as connection:
        wanted = known(connection)
    if wanted and of_store(store) != wanted:
        raise Unavailable(f"{store.root} is not where this shop's photos and papers lie: its id is {of_store(store) or 'missing'}, "
                          f"and the database knows {wanted}. Name the right folder (--data, TAGSTRIP_PHOTO_URL), or restore a "
                          "backup. If it is the right one all the same, say so once: ./tagstrip migrate --accept-photos")


def tie(engine: sa.Engine, store: FolderStore, now: datetime) -> None:
    """See that folder and database know each other; only while nobody else starts. Unavailable if the folder is another's."""
    refuse_other(engine, store)
    if not of_store(store):
        give(store, secrets.token_hex(16))
    _write_down(engine, of_store(store), now)


def accept(engine: sa.Engine, store: FolderStore, now: datetime) -> None:
    """From now on this folder is the shop's, whatever the database knew."""
    if not of_store(store):
        give(store, secrets.token_hex(16))
    _write_down(engine, of_store(store), now)


def _write_down(engine: sa.Engine, key: str, now: datetime) -> None:
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        queue_to_write(connection)
        if known(connection) != key:
            connection.execute(sa.delete(PhotoStore))
            connection.execute(sa.insert(PhotoStore).values(id=1, key=key, known_since=now))
