"""What the database adds to the table: an index of every three signs. Laid with each migration, as far as the database can.

SQLite: a full-text table beside it (FTS5, trigram), kept in step by triggers. PostgreSQL: GIN indexes of pg_trgm, one a kind.
Where the one or the other is not to be had, search reads every entry: it finds the same, slower.
"""

from __future__ import annotations

import sys

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from app.search import service
from app.search.models import Kind

FULL_TEXT = "search_text"
PREFIX = "ix_search_entry_words_"
_SQLITE = (
    f"CREATE VIRTUAL TABLE {FULL_TEXT} USING fts5(words, content='search_entry', content_rowid='id', tokenize='trigram', "
    "detail='none', columnsize=0)",
    f"INSERT INTO {FULL_TEXT}({FULL_TEXT}) VALUES ('rebuild')",  # noqa: S608 - names are ours
)
_ADD = f"INSERT INTO {FULL_TEXT}(rowid, words) VALUES (new.id, new.words);"  # noqa: S608 - names are ours
_TAKE = f"INSERT INTO {FULL_TEXT}({FULL_TEXT}, rowid, words) VALUES ('delete', old.id, old.words);"  # noqa: S608
_TRIGGERS = (("added", "AFTER INSERT", _ADD), ("taken", "AFTER DELETE", _TAKE), ("changed", "AFTER UPDATE OF words", _TAKE + _ADD))


def lay(connection: sa.Connection) -> None:
    """Make what is missing; say in one line on standard error what cannot be made, and why."""
    if not there(connection):
        return
    try:
        with connection.begin_nested():
            (_lay_postgresql if connection.dialect.name == "postgresql" else _lay_sqlite)(connection)
    except DBAPIError as wrong:
        said = str(wrong.orig).splitlines()[0]
        print(f"Search will read every entry, which is slow in a large shop: {_WANTED[connection.dialect.name]} ({said}).",
              file=sys.stderr, flush=True)


_WANTED = {"postgresql": "the extension pg_trgm cannot be made here; a superuser can, with CREATE EXTENSION pg_trgm, before the "
                         "next ./tagstrip migrate",
           "sqlite": "this SQLite has no full text of three signs; from 3.34 on it has"}


def is_migrated(name: str | None, kind: str, _parents: object) -> bool:
    """Whether a table or index of the database comes from the migrations; what this file lays does not (for Alembic)."""
    return not (kind == "table" and str(name).startswith(FULL_TEXT) or kind == "index" and str(name).startswith(PREFIX))


def there(connection: sa.Connection) -> bool:
    """Whether the database has the table at all: while a migration is drafted it may not."""
    return sa.inspect(connection).has_table("search_entry")


def fill(connection: sa.Connection) -> None:
    """Describe every record once, if nothing is described yet: a shop from before there was an index."""
    if there(connection) and not connection.execute(sa.text("SELECT 1 FROM search_entry LIMIT 1")).first():
        with Session(bind=connection, join_transaction_mode="create_savepoint") as current:
            service.renew_all(current, empty=True)
            current.commit()


def lift(connection: sa.Connection) -> None:
    """Take away what `lay` makes: before everything is described anew, or to see what search does without it."""
    if connection.dialect.name == "postgresql":
        for kind in Kind:
            connection.execute(sa.text(f"DROP INDEX IF EXISTS {_name(kind)}"))
        return
    for name, _, _ in _TRIGGERS:
        connection.execute(sa.text(f"DROP TRIGGER IF EXISTS search_{name}"))
    connection.execute(sa.text(f"DROP TABLE IF EXISTS {FULL_TEXT}"))


def _name(kind: Kind) -> str:
    return PREFIX + kind.value.replace(" ", "_")


def _lay_sqlite(connection: sa.Connection) -> None:
    if not connection.execute(sa.text("SELECT 1 FROM sqlite_master WHERE name = :name"), {"name": FULL_TEXT}).first():
        for statement in _SQLITE:
            connection.execute(sa.text(statement))
    for name, moment, act in _TRIGGERS:
        connection.execute(sa.text(f"CREATE TRIGGER IF NOT EXISTS search_{name} {moment} ON search_entry BEGIN {act} END"))


def _lay_postgresql(connection: sa.Connection) -> None:
    connection.execute(sa.text("CREATE EXTENSION IF NOT EXISTS pg_trgm"))
    for kind in Kind:
        connection.execute(sa.text(f"CREATE INDEX IF NOT EXISTS {_name(kind)} ON search_entry USING gin (words gin_trgm_ops) "
                                   f"WITH (fastupdate = off) WHERE kind = '{kind.value}'"))
