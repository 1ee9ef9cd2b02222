"""Bringing a database to the schema of this version. Alembic is imported only when it is needed."""

from __future__ import annotations

import functools
import re
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from app.errors import Unavailable
from app.journal import triggers

if TYPE_CHECKING:
    from alembic.config import Config

MIGRATIONS = Path(__file__).resolve().parent.parent / "migrations"


def revision(connection: sa.Connection) -> str | None:
    """The schema revision the database stands at; None for an empty one."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()


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

    A database that a newer Tagstrip wrote is refused.
    """
    with engine.connect() as connection:
        there = revision(connection)
        if there == (newest() if to == "head" else to):
            return False
        if there is not None and there not in known():
            raise Unavailable(f"The data was written by a newer Tagstrip (schema {there}). Use that version or a later one.")
    from alembic import command

    config = _config()
    with engine.connect() as connection:
        if connection.dialect.name == "sqlite":
            # A batch migration copies a table and drops the old one: with foreign keys on, that would cascade.
            connection.connection.driver_connection.execute("PRAGMA foreign_keys=OFF")  # type: ignore[union-attr]
        connection = connection.execution_options(writing=True)
        with connection.begin():
            config.attributes["connection"] = connection
            command.upgrade(config, to)
            triggers.protect(connection)
            if connection.dialect.name == "sqlite":
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
                if broken:
                    raise Unavailable(f"The migration would leave {len(broken)} records pointing at nothing; it was undone.")
        if connection.dialect.name == "sqlite":
            connection.connection.driver_connection.execute("PRAGMA foreign_keys=ON")  # type: ignore[union-attr]
    return True


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    return config
