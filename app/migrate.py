"""Bringing a database to the schema of this version. Alembic is imported only when it is needed."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from app import clock
from app.db import queue_to_write
from app.errors import Unavailable
from app.journal import seals, triggers

if TYPE_CHECKING:
    from alembic.config import Config

MIGRATIONS = Path(__file__).resolve().parent.parent / "migrations"


def revision(connection: sa.Connection) -> str | None:
    """The schema revision the database stands at; None for an empty one."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()


def revision_of(engine: sa.Engine) -> str | None:
    """The same, asked on a connection of its own."""
    with engine.connect() as connection:
        return revision(connection)


@functools.cache
def newest() -> str | None:
    """The newest revision this version knows: the one that none comes after."""
    before = set(_revisions().values())
    return next((one for one in _revisions() if one not in before), None)


@functools.cache
def known() -> frozenset[str]:
    """Every revision this version knows."""
    return frozenset(_revisions())


@functools.cache
def _revisions() -> dict[str, str | None]:
    """Revision → the one before it, read from the files: at most starts there is nothing to do, and Alembic is not needed."""
    found = {}
    for path in sorted((MIGRATIONS / "versions").glob("[0-9]*.py")):
        told = dict(re.findall(r'^(revision|down_revision)\b[^=\n]*= *"([^"]+)"', path.read_text(encoding="utf-8"), re.M))
        found[told["revision"]] = told.get("down_revision")
    return found


def upgrade(engine: sa.Engine, to: str = "head") -> bool:
    """Forward to the newest revision (or `to`), all or nothing; whether anything had to be done.

    A database that a newer Tagstrip wrote is refused. Of two at once on one PostgreSQL the second waits and finds it done.
    """
    wanted = newest() if to == "head" else to
    there = revision_of(engine)
    if there == wanted:
        return False
    refuse_newer(there)
    with engine.connect() as connection, _foreign_keys_off(connection):
        connection = connection.execution_options(writing=True)
        with connection.begin():
            queue_to_write(connection)
            if revision(connection) == wanted:
                return False
            _carry(connection, to)
    return True


def build(engine: sa.Engine, to: str, fill: Callable[[sa.Connection], None]) -> None:
    """In an empty database the schema `to`, what `fill` puts into it, and that carried to the newest: all of it or nothing.

    Unavailable if the database is not empty.
    """
    with engine.connect() as connection, _foreign_keys_off(connection):
        connection = connection.execution_options(writing=True)
        with connection.begin():
            queue_to_write(connection)
            if revision(connection) is not None:
                raise Unavailable("The database that TAGSTRIP_DATABASE_URL names is not empty. Restore into an empty one.")
            _carry(connection, to)
            fill(connection)
            if to != newest():
                _carry(connection, "head")
            else:
                _describe_for_search(connection)


def refuse_newer(there: str | None) -> None:
    """Unavailable if this version does not know the revision."""
    if there is not None and there not in known():
        raise Unavailable(f"The data was written by a newer Tagstrip (schema {there}). Use that version or a later one.")


def still_older(there: str | None, data: Path) -> str:
    """What to say to who needs this version's schema and meets an older one: in one line, with what to do."""
    return (f"The database is at schema {there}, and this Tagstrip needs {newest()} for that. "
            f"Bring it there with: ./tagstrip migrate --data {data}")


def _carry(connection: sa.Connection, to: str) -> None:
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    untrue = {name for name, _ in seals.compared(connection)} if revision(connection) else set()
    triggers.lift(connection)
    command.upgrade(config, to)
    triggers.protect(connection)
    if to == "head":  # a backup is read into the schema that it names: its seals come with it
        seals.seal_everything(connection, but=untrue, now=clock.now(), reason=f"carried to schema {newest()}")
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise Unavailable(f"The migration would leave {len(broken)} records pointing at nothing; it was undone.")


def _describe_for_search(connection: sa.Connection) -> None:
    """What each migration ends with, alone: for rows that were loaded into the newest schema. See migrations/env.py."""
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    command.stamp(config, "head")


@contextmanager
def _foreign_keys_off(connection: sa.Connection) -> Iterator[None]:
    """SQLite: a batch migration copies a table and drops the old one, and with foreign keys on that would cascade."""
    if connection.dialect.name != "sqlite":
        yield
        return
    driver: Any = connection.connection.driver_connection
    driver.execute("PRAGMA foreign_keys=OFF")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys=ON")


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
