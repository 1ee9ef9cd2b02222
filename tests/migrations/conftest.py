"""The real migrations, in a folder to which more can be added, and a second database to compare with."""

from __future__ import annotations

import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from app import migrate
from app.db import make_engine
from tests import postgres


def forget() -> None:
    """What was read of the folder is read anew."""
    for forgetful in (migrate.newest, migrate.known, migrate._revisions):
        forgetful.cache_clear()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The folder of migrations, a copy of its own."""
    copied = tmp_path / "migrations"
    shutil.copytree(migrate.MIGRATIONS, copied, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(migrate, "MIGRATIONS", copied)
    forget()
    yield copied
    forget()


@pytest.fixture
def empty(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[sa.Engine]:
    """A database without any table."""
    if engine_name == "sqlite":
        engine = make_engine(f"sqlite:///{tmp_path / 'empty.db'}")
        yield engine
        engine.dispose()
        return
    address, name = request.getfixturevalue("postgres_server"), f"e{uuid.uuid4().hex}"
    postgres.command(address, f"CREATE DATABASE {name}")
    engine = make_engine(f"{address}/{name}")
    yield engine
    engine.dispose()
    postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")
