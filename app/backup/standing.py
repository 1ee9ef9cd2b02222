"""The tables of a database as it stands: at this version's schema, or at an older one that is only read."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from app import migrate as schema
from app.backup.rows import worth_reading
from app.db import Base, UtcTime


def tables_of(connection: sa.Connection) -> sa.MetaData:
    """The models' own tables where the database stands at this version's schema; at an older one what it tells itself.

    A column that the models know too keeps its model's marks; moments are read with their zone either way.
    """
    if schema.revision(connection) == schema.newest():
        return Base.metadata
    found = sa.MetaData()

    @sa.event.listens_for(found, "column_reflect")
    def _as_ours(_inspector: object, table: sa.Table, told: dict[str, Any]) -> None:
        kind = told["type"].as_generic(allow_nulltype=True)
        told["type"] = UtcTime() if isinstance(kind, sa.DateTime) else kind
        ours = Base.metadata.tables.get(table.name)
        if ours is not None and told["name"] in ours.columns:
            told["info"] = ours.columns[told["name"]].info

    found.reflect(connection, only=worth_reading)
    return found


def unknown(tables: sa.MetaData) -> list[str]:
    """The columns that only the older version knew, as "table.column"."""
    found = []
    for table in tables.sorted_tables:
        ours = Base.metadata.tables.get(table.name)
        found += [f"{table.name}.{column.name}" for column in table.columns
                  if table.name != "alembic_version" and (ours is None or column.name not in ours.columns)]
    return found
