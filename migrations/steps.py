"""What a migration may call beside Alembic's own operations. Both engines; inside the migration's one transaction."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from app.errors import Unavailable


def never_empty(table: str, *columns: str) -> None:
    """From here on no row may lack a value in these columns. Unavailable, and all is undone, if one does still."""
    told = sa.table(table, *(sa.column(name) for name in columns))
    for name in columns:
        empty = op.get_bind().scalar(sa.select(sa.func.count()).select_from(told).where(told.c[name].is_(None)))
        if empty:
            raise Unavailable(f"The migration was undone: {empty} row{'' if empty == 1 else 's'} of {table} would be left without "
                              f"{name}. Nothing was changed.")
    with op.batch_alter_table(table) as batch:
        for name in columns:
            batch.alter_column(name, nullable=False)
