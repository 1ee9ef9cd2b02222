"""Migrations run forward on a populated database, keep every row, and leave the triggers standing."""

from __future__ import annotations

from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate, tables
from app.backup.rows import NOT_KEPT
from app.db import Base, database, make_engine, session, transaction
from app.errors import Unavailable
from app.journal import seals, triggers
from tests import factories
from tests.migrations.conftest import forget
from tests.migrations.shape import differences, shape

NEXT = '''
"""A migration as the next version might bring one: a table is rebuilt, with children pointing at it."""

import sqlalchemy as sa
from alembic import op

revision = "9999"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("customer") as batch:
        batch.add_column(sa.Column("likes_tea", sa.Boolean(), nullable=False, server_default=sa.false()))
        batch.alter_column("note", nullable=True)
    {spoil}
'''


CORRECT = """op.execute("UPDATE journal_entry SET reason = 'moved' WHERE seq = 1")
    op.execute("DELETE FROM shop")
    """


def refused_still() -> None:
    for statement in ("UPDATE journal_entry SET reason = 'x'", "DELETE FROM journal_entry", "DELETE FROM customer"):
        with pytest.raises(sa.exc.DatabaseError, match="is refused"), transaction() as current:
            current.execute(sa.text(statement))


def triggers_of(engine: sa.Engine) -> list[tuple[str, str]]:
    asked = {"sqlite": "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger' ORDER BY 1",
             "postgresql": "SELECT trigger_name, event_object_table FROM information_schema.triggers ORDER BY 1"}
    with engine.connect() as connection:
        return [(name, table) for name, table in connection.execute(sa.text(asked[engine.dialect.name]))]


def add(folder: Path, before: str | None, spoil: str = "pass") -> None:
    (folder / "versions" / "9999_next.py").write_text(NEXT.format(before=before, spoil=spoil))
    forget()


def counted() -> dict[str, int]:
    names = [t.name for t in Base.metadata.sorted_tables if t.name not in NOT_KEPT]
    found = {name: session().execute(sa.text(f'SELECT count(*) FROM "{name}"')).scalar() or 0 for name in names}
    session().rollback()
    return found


def test_a_rebuilt_table_keeps_its_rows_children_and_triggers(context: Flask, folder: Path) -> None:
    with transaction():
        factories.order()
    before = counted()
    add(folder, migrate.newest())
    assert migrate.upgrade(database().engine)
    assert not migrate.upgrade(database().engine)
    # One entry more: the seal of the rows that were carried.
    assert counted() == {**before, "journal_entry": before["journal_entry"] + 1} and before["repair_order"] == 1
    with pytest.raises(sa.exc.DatabaseError, match="is refused"), transaction() as current:
        current.execute(sa.text("DELETE FROM customer"))
    assert session().execute(sa.text("SELECT likes_tea FROM customer")).scalar() in (0, False)


def test_a_migration_that_breaks_half_way_leaves_everything_as_it_was(context: Flask, folder: Path) -> None:
    with transaction():
        factories.order()
    before, there = counted(), migrate.newest()
    add(folder, there, 'raise RuntimeError("power went")')
    with pytest.raises(RuntimeError, match="power went"):
        migrate.upgrade(database().engine)
    with database().engine.connect() as connection:
        assert migrate.revision(connection) == there
    assert counted() == before


def test_a_migration_makes_no_damage_good(context: Flask, folder: Path) -> None:
    """What was altered before it is as little sealed after it."""
    with transaction():
        factories.order()
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        triggers.lift(raw)
        raw.execute(sa.text("UPDATE amp SET serial = 'altered' WHERE id = 1"))
        triggers.protect(raw)
    add(folder, migrate.newest())
    assert migrate.upgrade(database().engine)
    with database().engine.connect() as connection:
        assert list(seals.compared(connection)) == [("amp 1", "is not as it was last saved")]


def test_a_migration_corrects_what_nobody_else_may(context: Flask, folder: Path) -> None:
    """Also where the house's own triggers refuse every change: they are lifted for the migration, and stand again after it."""
    with transaction():
        factories.order()
    add(folder, migrate.newest(), CORRECT)
    migrate.upgrade(database().engine)
    assert session().execute(sa.text("SELECT count(*) FROM journal_entry WHERE reason = 'moved'")).scalar() == 1
    assert session().execute(sa.text("SELECT count(*) FROM shop")).scalar() == 0
    session().rollback()
    refused_still()


def test_the_triggers_of_a_migration_that_breaks_stand_as_before(context: Flask, folder: Path) -> None:
    with transaction():
        factories.order()
    there = triggers_of(database().engine)
    add(folder, migrate.newest(), CORRECT + 'raise RuntimeError("power went")')
    with pytest.raises(RuntimeError, match="power went"):
        migrate.upgrade(database().engine)
    assert triggers_of(database().engine) == there and len(there) > 70
    assert session().execute(sa.text("SELECT count(*) FROM journal_entry WHERE reason = 'moved'")).scalar() == 0
    session().rollback()
    refused_still()


def test_foreign_keys_are_held_again_after_a_migration_that_breaks(context: Flask, folder: Path) -> None:
    add(folder, migrate.newest(), 'raise RuntimeError("power went")')
    with pytest.raises(RuntimeError, match="power went"):
        migrate.upgrade(database().engine)
    with pytest.raises(sa.exc.IntegrityError), transaction() as current:
        current.execute(sa.text("INSERT INTO accessory_count (order_id, version, at, by_name) VALUES (4711, 1, '2026-03-02', 'x')"))


def test_a_newer_database_is_refused(context: Flask) -> None:
    with transaction() as current:
        current.execute(sa.text("UPDATE alembic_version SET version_num = '9998'"))
    with pytest.raises(Unavailable, match="newer Tagstrip"):
        migrate.upgrade(database().engine)


def test_a_drafted_migration_is_found_without_alembic(tmp_path: Path, folder: Path) -> None:
    """The template writes revisions the way they are read at start."""
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(folder))
    config.set_main_option("path_separator", "os")
    ScriptDirectory.from_config(config).generate_revision("0777", "A draft", head=migrate.newest() or "head")
    forget()
    assert migrate.newest() == "0777"


def test_models_and_migrations_agree(empty: sa.Engine, blank_url: str) -> None:
    """Columns, kinds, defaults, keys, indexes and every CHECK: the migrated database is the one that the models describe."""
    tables.metadata.create_all(empty)
    migrated = make_engine(blank_url)
    found = differences(shape(migrated), shape(empty))
    migrated.dispose()
    assert found == []
