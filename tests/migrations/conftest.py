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
from app.photos.store import FolderStore
from tests import postgres
from tests.migrations import old_shops
from tests.migrations.old_shops import OldShop


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


@pytest.fixture(scope="session")
def oldest_files(tmp_path_factory: pytest.TempPathFactory) -> tuple[OldShop, Path]:
    """The shop of the oldest version, with a folder that holds a file for every photo and paper it names."""
    folder = tmp_path_factory.mktemp("oldest") / "photos"
    return old_shops.with_files(old_shops.read(old_shops.kept()[0]), FolderStore(folder)), folder


@pytest.fixture(scope="session")
def oldest_sqlite(oldest_files: tuple[OldShop, Path]) -> Path:
    """Its database, to copy."""
    path = oldest_files[1].parent / "oldest.db"
    engine = make_engine(f"sqlite:///{path}")
    old_shops.fill(engine, oldest_files[0])
    engine.dispose()
    return path


@pytest.fixture(scope="session")
def oldest_postgres(oldest_files: tuple[OldShop, Path], postgres_server: str) -> str:
    """The same, as a template database."""
    postgres.command(postgres_server, "CREATE DATABASE oldest")
    engine = make_engine(f"{postgres_server}/oldest")
    old_shops.fill(engine, oldest_files[0])
    engine.dispose()
    return "oldest"


@pytest.fixture
def oldest(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[sa.Engine]:
    """A database of one's own that holds the shop of the oldest version, at its schema."""
    if engine_name == "sqlite":
        shutil.copy(request.getfixturevalue("oldest_sqlite"), tmp_path / "oldest.db")
        engine = make_engine(f"sqlite:///{tmp_path / 'oldest.db'}")
        yield engine
        engine.dispose()
        return
    template, address = request.getfixturevalue("oldest_postgres"), request.getfixturevalue("postgres_server")
    yield from _on_postgres(address, f"TEMPLATE {template}")


@pytest.fixture
def empty(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[sa.Engine]:
    """A database without any table."""
    if engine_name == "sqlite":
        engine = make_engine(f"sqlite:///{tmp_path / 'empty.db'}")
        yield engine
        engine.dispose()
        return
    yield from _on_postgres(request.getfixturevalue("postgres_server"))


def _on_postgres(address: str, how: str = "") -> Iterator[sa.Engine]:
    name = f"e{uuid.uuid4().hex}"
    postgres.command(address, f"CREATE DATABASE {name} {how}")
    engine = make_engine(f"{address}/{name}")
    yield engine
    engine.dispose()
    postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")
