"""The shop of every released version is carried to the newest schema, on both engines, and every old value is found again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate
from app.db import Base, session, transaction
from app.journal import service as journal
from app.journal.triggers import MAY_BE_DELETED
from tests.conftest import configure, working_on
from tests.migrations import old_shops
from tests.migrations.conftest import forget
from tests.migrations.moved import FOUND_BY, GIVEN_UP
from tests.migrations.old_shops import OldShop
from tests.migrations.shape import differences, shape

SHOPS = old_shops.kept()


@pytest.fixture(params=SHOPS, ids=[path.name for path in SHOPS])
def shop(request: pytest.FixtureRequest) -> OldShop:
    return old_shops.read(request.param)


def plain(value: Any) -> Any:
    """A value as the old file has it: both engines tell the same moment, truth or list differently."""
    if isinstance(value, dict | list):
        return json.dumps(value, sort_keys=True)
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return value


def keyed(rows: list[dict[str, Any]], key: list[str], column: str) -> dict[Any, Any]:
    """The column's values by their rows' keys; a key of one part stands for itself."""
    return {(tuple(row[part] for part in key) if len(key) > 1 else row[key[0]]): plain(row[column]) for row in rows}


class Now:
    """The database as it stands after it was carried forward."""

    def __init__(self, connection: sa.Connection) -> None:
        self.connection, self.rows = connection, old_shops.taken(connection)
        self.tables = sa.MetaData()
        self.tables.reflect(connection)

    def values(self, table: str, key: list[str], column: str) -> dict[Any, Any] | None:
        """What the old column's values are read as now; None if nobody says where they went."""
        told = FOUND_BY.get(f"{table}.{column}")
        if told is not None:
            pairs = self.connection.execute(sa.text(told)) if isinstance(told, str) else told(self.connection)
            return {one: plain(value) for one, value in pairs}
        if table in self.rows and {column, *key} <= set(self.tables.tables[table].columns.keys()):
            return keyed(self.rows[table], key, column)
        return None


def keys_of(shop: OldShop, engine: sa.Engine) -> dict[str, list[str]]:
    """The columns of each table's primary key, as they were then."""
    with engine.connect() as connection:
        told = sa.inspect(connection)
        return {table: told.get_pk_constraint(table)["constrained_columns"] for table in shop.tables}


def lost(shop: OldShop, keys: dict[str, list[str]], connection: sa.Connection) -> Iterator[str]:
    """Every old value that is not there any more, in a line."""
    now = Now(connection)
    for table, rows in shop.tables.items():
        for column in rows[0]:
            place = f"{table}.{column}"
            if place in GIVEN_UP or table in GIVEN_UP:
                continue
            found = now.values(table, keys[table], column)
            if found is None:
                yield f"{place} is gone: tests/migrations/moved.py must say where its values went"
                continue
            for key, value in keyed(rows, keys[table], column).items():
                if key not in found:
                    yield f"{place} of row {key}: the row is gone"
                elif found[key] != value:
                    yield f"{place} of row {key}: {value!r} became {found[key]!r}"


def test_every_old_value_is_found_again(bare_app: Flask, empty: sa.Engine, shop: OldShop, tmp_path: Path) -> None:
    old_shops.fill(empty, shop)
    keys = keys_of(shop, empty)
    assert migrate.upgrade(empty)
    with empty.connect() as connection:
        assert list(lost(shop, keys, connection)) == []
        assert migrate.revision(connection) == migrate.newest()
    with working_on(bare_app, configure(tmp_path, empty.url.render_as_string(hide_password=False))), bare_app.app_context():
        assert journal.verify() == []
        for mapper in Base.registry.mappers:  # every row can be read by its model, closed lists of words included
            session().scalars(sa.select(mapper.class_)).all()
        session().rollback()
        for table in shop.tables.keys() - MAY_BE_DELETED:
            if sa.inspect(empty).has_table(table):
                with pytest.raises(sa.exc.DatabaseError, match="is refused"), transaction() as current:
                    current.execute(sa.text(f'DELETE FROM "{table}"'))


def test_a_shop_carried_forward_has_the_tables_of_a_new_one(empty: sa.Engine, shop: OldShop, blank_url: str) -> None:
    old_shops.fill(empty, shop)
    migrate.upgrade(empty)
    new = sa.create_engine(blank_url)
    assert differences(shape(empty), shape(new)) == []
    new.dispose()


def test_every_table_of_its_time_has_a_row(shop: OldShop) -> None:
    assert [name for name, rows in shop.tables.items() if not rows] == []


SPOIL = '''
"""A migration that spoils three things."""

from alembic import op

revision = "9999"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("UPDATE journal_entry SET reason = 'none' WHERE seq = 7")
    op.execute("DELETE FROM past_job WHERE id = 2")
    with op.batch_alter_table("past_job") as batch:
        batch.drop_column("model")
'''


def test_what_a_migration_spoils_is_named(empty: sa.Engine, folder: Path) -> None:
    """The comparison itself can fail: a changed value, a row gone, a column gone."""
    oldest = old_shops.read(SHOPS[0])
    old_shops.fill(empty, oldest)
    keys = keys_of(oldest, empty)
    (folder / "versions" / "9999_spoil.py").write_text(SPOIL.format(before=migrate.newest()))
    forget()
    migrate.upgrade(empty)
    with empty.connect() as connection:
        said = list(lost(oldest, keys, connection))
    assert "past_job.model is gone: tests/migrations/moved.py must say where its values went" in said
    assert "past_job.kind of row 2: the row is gone" in said
    assert any(line.startswith("journal_entry.reason of row 7: ") and line.endswith(" became 'none'") for line in said)
    assert {line.partition(".")[0] for line in said} == {"past_job", "journal_entry"}
