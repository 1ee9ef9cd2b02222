"""Rows as plain JSON and back, the same from either database, a batch in memory at a time.

Read as they lie, not as the models would: a value that damage has made none of its column's kind is kept as it is.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import OperationalError, StatementError

from app.errors import BadInput
from app.search.models import is_derived

# What has no value after its moment is not kept: sign-ins, keys of sent forms, tries that failed.
# Nor is which folder held the files: that of a restored shop is another.
# Nor is the search index, which is made anew: app/search.
NOT_KEPT = frozenset({"alembic_version", "sign_in", "once_key", "held_post", "guesses", "enrol_code", "photo_store",
                      "password_code"})
AT_ONCE = 500  # rows in memory


def kept(tables: sa.MetaData) -> list[sa.Table]:
    """The tables to keep, parents before children."""
    return [table for table in tables.sorted_tables if is_kept(table.name)]


def is_kept(name: str) -> bool:
    """Whether a table of this name belongs in a backup."""
    return name not in NOT_KEPT and not is_derived(name)


def worth_reading(name: str, _metadata: sa.MetaData) -> bool:
    """Whether a table of the database is one of ours: SQLite shows the full-text index of the search as tables, too."""
    return not is_derived(name)


def dump(connection: sa.Connection, table: sa.Table) -> Iterator[dict[str, Any]]:
    """Every row, in order of its key."""
    kinds = {column.name: column.type for column in table.columns}
    there: Any = sa.table(table.name)
    asked: Any = sa.select(*[sa.column(name) for name in kinds]).select_from(there).order_by(
        *[sa.column(column.name) for column in table.primary_key.columns])
    for row in connection.execute(asked.execution_options(yield_per=AT_ONCE)):
        yield {name: _plain(value, kinds[name]) for name, value in row._mapping.items()}


def load(connection: sa.Connection, table: sa.Table, rows: Iterable[dict[str, Any]]) -> None:
    """Put rows into an empty table. BadInput for a row that it cannot hold."""
    kinds = {column.name: column.type for column in table.columns}
    left = iter(rows)
    while batch := list(itertools.islice(left, AT_ONCE)):
        as_typed, as_it_lay = [], []
        for row in batch:
            if strange := row.keys() - kinds.keys():
                raise BadInput(f"The backup holds {table.name}.{min(strange)}, which its schema does not have.")
            try:
                as_typed.append({name: _typed(value, kinds[name]) for name, value in row.items()})
            except ValueError as wrong:
                if connection.dialect.name != "sqlite":
                    raise BadInput(f"{table.name} {row.get('id', '')} in the backup holds a damaged value ({wrong}), which "
                                   "PostgreSQL cannot hold. Restore an older backup, or this one to a folder alone.") from wrong
                as_it_lay.append({name: _raw(value, kinds[name]) for name, value in row.items()})
        try:
            if as_typed:
                connection.execute(table.insert(), as_typed)
            if as_it_lay:
                connection.execute(sa.table(table.name, *[sa.column(name) for name in kinds]).insert(), as_it_lay)
        except (StatementError, OverflowError) as wrong:
            if isinstance(wrong, OperationalError):  # the database itself, not the row
                raise
            said = str(getattr(wrong, "orig", None) or wrong).splitlines()[0]
            raise BadInput(f"A row of {table.name} in the backup cannot be taken in: {said}.") from wrong


def _plain(value: Any, kind: sa.types.TypeEngine[Any]) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, bytes):
        return value.decode("utf-8", "backslashreplace")
    if isinstance(kind, sa.Boolean) and isinstance(value, int) and value in (0, 1):
        return bool(value)
    if isinstance(value, str) and isinstance(kind, sa.DateTime | sa.JSON):
        try:
            return datetime.fromisoformat(value).isoformat() if isinstance(kind, sa.DateTime) else json.loads(value)
        except (ValueError, RecursionError):  # damaged: kept as it is, and named by verify
            return value
    return value


def _typed(value: Any, kind: sa.types.TypeEngine[Any]) -> Any:
    """As the column's kind takes it; ValueError if it is none of it."""
    if isinstance(value, str) and isinstance(kind, sa.DateTime):
        return datetime.fromisoformat(value)
    if isinstance(value, str) and isinstance(kind, sa.Date):
        return date.fromisoformat(value)
    if isinstance(kind, sa.Boolean) and value is not None:
        if value not in (0, 1):
            raise ValueError(f"{value!r} for yes or no")
        return bool(value)
    if isinstance(kind, sa.DateTime | sa.Date) and value is not None:
        raise ValueError(f"{value!r} for a moment")
    return value


def _raw(value: Any, kind: sa.types.TypeEngine[Any]) -> Any:
    """As SQLite keeps it."""
    if isinstance(kind, sa.JSON):
        return json.dumps(value)
    try:
        typed = _typed(value, kind)
    except ValueError:
        return value
    if isinstance(typed, datetime):
        return typed.strftime("%Y-%m-%d %H:%M:%S.%f")
    return typed.isoformat() if isinstance(typed, date) else typed
