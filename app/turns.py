"""Who may do what with a database at the same time as others: start on it, use it, change its schema, serve it.

By advisory locks on PostgreSQL, each on a connection of its own and gone with it. A SQLite file belongs to one folder, and that to
one process: there is nothing to take turns in.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import sqlalchemy as sa

from app.errors import Unavailable

# Any fixed numbers: the one that starts, those that use the database, and the one that serves it. Who writes: app/db.py.
_TURN_LOCK_KEY, _USE_LOCK_KEY, _SERVE_LOCK_KEY = 0x7A66, 0x7A67, 0x7A68
PATIENCE_SECONDS = 3.0  # a server that was just ended may need a moment to be gone


@contextmanager
def in_turn(engine: sa.Engine) -> Iterator[None]:
    """Wait until no other process starts on this database, and start alone. PostgreSQL; a SQLite file belongs to one folder."""
    with _locked(engine, "pg_advisory_lock", _TURN_LOCK_KEY):
        yield


@contextmanager
def in_use(engine: sa.Engine) -> Iterator[None]:
    """The database is in use until the block ends, so that nobody changes its schema. Many may use it at once."""
    with _locked(engine, "pg_advisory_lock_shared", _USE_LOCK_KEY):
        yield


@contextmanager
def unused(engine: sa.Engine) -> Iterator[None]:
    """Nobody uses the database until the block ends. Unavailable if somebody does and goes on for a few seconds."""
    with _patiently(engine, "pg_try_advisory_lock", _USE_LOCK_KEY,
                    "Another Tagstrip works on this database, from another folder or machine. End that one "
                    "first: the database cannot be changed under it."):
        yield


@contextmanager
def serving_alone(engine: sa.Engine, *, shared: bool) -> Iterator[None]:
    """Be the one server of this database until the block ends; `shared`: one of those that share its photos folder by setting.

    Unavailable if another serves it and goes on for a few seconds. PostgreSQL; a SQLite file belongs to one folder.
    """
    with _patiently(engine, "pg_try_advisory_lock_shared" if shared else "pg_try_advisory_lock", _SERVE_LOCK_KEY,
                    "Another Tagstrip serves this database, from another folder or machine. End that one first. If both use "
                    "the same photos folder, and are to serve together, start each with TAGSTRIP_SHARED_STORE=yes."):
        yield


@contextmanager
def _patiently(engine: sa.Engine, how: str, key: int, taken: str) -> Iterator[None]:
    until = time.monotonic() + PATIENCE_SECONDS
    with ExitStack() as held:
        while True:
            try:
                held.enter_context(_locked(engine, how, key))
                break
            except _Taken:
                if time.monotonic() > until:
                    raise Unavailable(taken) from None
                time.sleep(0.1)
        yield


def say_in_use(connection: Any, _record: object) -> None:
    """For the "connect" event of a server's engine: each of its connections says that the database is in use."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT pg_advisory_lock_shared({_USE_LOCK_KEY})")
    connection.commit()


class _Taken(Exception):
    pass


@contextmanager
def _locked(engine: sa.Engine, how: str, key: int) -> Iterator[None]:
    if engine.dialect.name != "postgresql":
        yield
        return
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.detach()  # closed at the end of the block, and the lock with it, instead of going back to the pool
        if connection.scalar(sa.text(f"SELECT {how}(:key)"), {"key": key}) is False:
            raise _Taken
        yield
