"""What comes after an erasure is saved: files go, and the database lets go of the room in which the words stood."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

import sqlalchemy as sa

from app.db import database, end_reading
from app.kernel import upload_holding
from app.photos import removal
from app.search.index import FULL_TEXT


def finish(forms: Iterable[str], now: datetime) -> None:
    """Remove files that are listed, files of forms that were held, and what the search index still holds of old words."""
    removal.work_off(now)
    upload_holding.drop(forms)
    end_reading()
    engine = database().engine
    if engine.dialect.name != "sqlite":  # PostgreSQL clears its free room by itself (autovacuum)
        return
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        if connection.execute(sa.text("SELECT 1 FROM sqlite_master WHERE name = :name"), {"name": FULL_TEXT}).first():
            connection.exec_driver_sql("PRAGMA secure_delete=ON")
            connection.execute(sa.text(f"INSERT INTO {FULL_TEXT}({FULL_TEXT}) VALUES ('optimize')"))  # noqa: S608 - names are ours
    with engine.connect() as connection:
        connection.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # outside any transaction
