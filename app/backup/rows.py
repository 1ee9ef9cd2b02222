"""Rows as plain JSON and back, the same from either database."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from app.search.models import is_derived

# What has no value after its moment is not kept: sign-ins, keys of sent forms, tries that failed.
# Nor is which folder held the files: that of a restored shop is another.
# Nor is the search index, which is made anew: app/search.
NOT_KEPT = frozenset({"alembic_version", "sign_in", "once_key", "held_post", "guesses", "enrol_code", "photo_store",
                      "password_code"})


def kept(tables: sa.MetaData) -> list[sa.Table]:
    """The tables to keep, parents before children."""
    return [table for table in tables.sorted_tables if table.name not in NOT_KEPT and not is_derived(table.name)]


def worth_reading(name: str, _metadata: sa.MetaData) -> bool:
    """Whether a table of the database is one of ours: SQLite shows the full-text index of the search as tables, too."""
    return not is_derived(name)


def dump(connection: sa.Connection, table: sa.Table) -> Iterator[dict[str, Any]]:
    """Every row, in order of its key."""
    for row in connection.execute(sa.select(table).order_by(*table.primary_key.columns)):
        yield {name: _plain(value) for name, value in row._mapping.items()}


def load(connection: sa.Connection, table: sa.Table, rows: list[dict[str, Any]]) -> None:
    """Put rows into an empty table."""
    if rows:
        kinds = {column.name: column.type for column in table.columns}
        connection.execute(table.insert(), [{n: _typed(v, kinds[n]) for n, v in row.items()} for row in rows])


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    return value


def _typed(value: Any, kind: sa.types.TypeEngine[Any]) -> Any:
    if isinstance(value, str) and isinstance(kind, sa.DateTime):
        return datetime.fromisoformat(value)
    if isinstance(value, str) and isinstance(kind, sa.Date):
        return date.fromisoformat(value)
    if isinstance(value, int) and isinstance(kind, sa.Boolean):
        return bool(value)
    return value
