"""What a database says of its own tables, in a form that can be compared with another's."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from app.search import index

Shape = dict[str, dict[str, Any]]


def shape(engine: sa.Engine) -> Shape:
    """Columns with kind, NULL and default; keys, indexes and the text of every CHECK, by table and name."""
    found: Shape = {}
    with engine.connect() as connection:
        told = sa.inspect(connection)
        for table in told.get_table_names():
            if table == "alembic_version" or not index.is_migrated(table, "table", None):
                continue
            found[table] = {
                "columns": {c["name"]: (str(c["type"]), c["nullable"], c["default"]) for c in told.get_columns(table)},
                "primary key": told.get_pk_constraint(table),
                "foreign keys": {k["name"]: _plain(k) for k in told.get_foreign_keys(table)},
                "unique": {k["name"]: k["column_names"] for k in told.get_unique_constraints(table)},
                "checks": {k["name"]: " ".join(k["sqltext"].split()) for k in told.get_check_constraints(table)},
                "indexes": {i["name"]: (i["column_names"], bool(i["unique"]), _where(i)) for i in told.get_indexes(table)
                            if index.is_migrated(i["name"], "index", None)},
            }
    return found


def differences(left: Shape, right: Shape) -> list[str]:
    """Each thing that only one of the two says, in a line."""
    lines = []
    for table in sorted(left.keys() | right.keys()):
        one, two = left.get(table, {}), right.get(table, {})
        for part in sorted(one.keys() | two.keys()):
            a, b = one.get(part, {}), two.get(part, {})
            lines += [f"{table} {part} {name}: {a.get(name)!r} / {b.get(name)!r}"
                      for name in sorted(a.keys() | b.keys(), key=str) if a.get(name) != b.get(name)]
    return lines


def _plain(key: Any) -> tuple[Any, ...]:
    return key["constrained_columns"], key["referred_table"], key["referred_columns"], sorted(key["options"].items())


def _where(index: Any) -> str:
    told = index.get("dialect_options", {})
    return str(told.get("sqlite_where", told.get("postgresql_where", "")))
