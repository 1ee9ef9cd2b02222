"""Bringing a database to the schema of this version. Alembic is imported only when it is needed."""

from __future__ import annotations

import functools
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
    """The newest revision this version knows."""
    from alembic.script import ScriptDirectory

    return ScriptDirectory.from_config(_config()).get_current_head()


@functools.cache
def known() -> frozenset[str]:
    """Every revision this version knows."""
    from alembic.script import ScriptDirectory

    return frozenset(one.revision for one in ScriptDirectory.from_config(_config()).walk_revisions())


def upgrade(engine: sa.Engine, to: str = "head") -> bool:
    """Forward to the newest revision (or `to`), all or nothing; whether anything had to be done.

    A database that a newer Tagstrip wrote is refused.
    """
    from alembic import command

    with engine.connect() as connection:
        there = revision(connection)
        if there == (newest() if to == "head" else to):
            return False
        if there is not None and there not in known():
            raise Unavailable(f"The data was written by a newer Tagstrip (schema {there}). Use that version or a later one.")
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
