"""Migrations run forward on a populated database, keep every row, and leave the triggers standing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate, tables
from app.backup.rows import NOT_KEPT
from app.db import Base, database, make_engine, session, transaction
from app.errors import Unavailable
from tests import factories

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


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The real migrations, in a folder to which one more can be added."""
    copied = tmp_path / "migrations"
    shutil.copytree(migrate.MIGRATIONS, copied, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(migrate, "MIGRATIONS", copied)
    for forgetful in (migrate.newest, migrate.known, migrate._revisions):
        forgetful.cache_clear()
    yield copied
    for forgetful in (migrate.newest, migrate.known, migrate._revisions):
        forgetful.cache_clear()


def add(folder: Path, before: str | None, spoil: str = "pass") -> None:
    (folder / "versions" / "9999_next.py").write_text(NEXT.format(before=before, spoil=spoil))
    for forgetful in (migrate.newest, migrate.known, migrate._revisions):
        forgetful.cache_clear()


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
    assert counted() == before and before["repair_order"] == 1
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
    for forgetful in (migrate.newest, migrate.known, migrate._revisions):
        forgetful.cache_clear()
    assert migrate.newest() == "0777"


def test_models_and_migrations_agree(tmp_path: Path) -> None:
    """Nothing that autogenerate can see is missing from the migrations."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    engine = make_engine(f"sqlite:///{tmp_path / 'fresh.db'}")
    migrate.upgrade(engine)
    with engine.connect() as connection:
        found = compare_metadata(MigrationContext.configure(connection, opts={"compare_type": True}), tables.metadata)
    engine.dispose()
    assert found == []
