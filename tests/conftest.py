"""Fixtures for every room. Whatever uses the database runs twice: on SQLite and on PostgreSQL."""

from __future__ import annotations

import shutil
import uuid
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask

from app import create_app, migrate
from app.config import Config
from app.db import Database, make_engine, transaction
from app.shop import service as shop_service
from app.web import saving  # noqa: F401 - the house is loaded once, before any test
from tests import postgres
from tests.pages import PageClient
from tests.people import BY, Cast, hire

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database at the newest schema, to be copied: migrations run once a session."""
    path = tmp_path_factory.mktemp("template") / "tagstrip.db"
    engine = make_engine(f"sqlite:///{path}")
    migrate.upgrade(engine)
    engine.dispose()
    return path


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A server with a template database at the newest schema."""
    with postgres.server() as address:
        postgres.command(address, "CREATE DATABASE blank")
        engine = make_engine(f"{address}/blank")
        migrate.upgrade(engine)
        engine.dispose()
        yield address


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An own, empty database at the newest schema, on each engine in turn."""
    if request.param == "sqlite":
        template: Path = request.getfixturevalue("sqlite_template")
        shutil.copy(template, tmp_path / "tagstrip.db")
        yield f"sqlite:///{tmp_path / 'tagstrip.db'}"
        return
    address: str = request.getfixturevalue("postgres_server")
    name = f"t{uuid.uuid4().hex}"
    postgres.command(address, f"CREATE DATABASE {name} TEMPLATE blank")
    yield f"{address}/{name}"
    postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def config(tmp_path: Path, database_url: str) -> Config:
    return Config(data=tmp_path, database_url=database_url, photo_url=(tmp_path / "photos").as_uri(),
                  secret_key="a key for tests only")


@pytest.fixture
def empty_app(config: Config) -> Iterator[Flask]:
    """An application before its first start."""
    app = create_app(replace(config))
    app.testing = True
    yield app
    found: Database = app.extensions["tagstrip_db"]
    found.engine.dispose()


@pytest.fixture
def app(empty_app: Flask) -> Flask:
    """An application with an open shop and its cast of people."""
    with empty_app.app_context(), transaction():
        shop_service.open_shop("Lowgate Valve Repairs", by=BY, now=NOW, address="3 Lowgate, Harrowmere",
                               phone="555 0101", email="bench@lowgate.example")
        empty_app.extensions["cast"] = hire(NOW)
    return empty_app


@pytest.fixture
def cast(app: Flask) -> Cast:
    found: Cast = app.extensions["cast"]
    return found


@pytest.fixture
def context(app: Flask) -> Iterator[Flask]:
    """Inside the application: for tests of services and queries. Close reading with db.end_reading() before a page is asked for."""
    with app.app_context():
        yield app


@pytest.fixture
def counter(app: Flask) -> PageClient:
    """The counter's browser, signed in."""
    return PageClient(app).sign_in(app.extensions["cast"].counter)


@pytest.fixture
def technician(app: Flask) -> PageClient:
    """The technician's browser, signed in."""
    return PageClient(app).sign_in(app.extensions["cast"].technician)


@pytest.fixture
def owner(app: Flask) -> PageClient:
    """The owner's browser, signed in."""
    return PageClient(app).sign_in(app.extensions["cast"].owner)


@pytest.fixture
def stranger(app: Flask) -> PageClient:
    """A browser in which nobody is signed in."""
    return PageClient(app)
