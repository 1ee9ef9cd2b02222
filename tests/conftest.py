"""Fixtures for every room. Whatever uses the database runs twice: on SQLite and on PostgreSQL."""

from __future__ import annotations

import os
import shutil
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, Page

from app import create_app, migrate
from app.access import secrets
from app.config import Config
from app.db import Database, make_engine, transaction
from app.documents import pdf
from app.factory import work_on
from app.photos import apart
from app.shop import service as shop_service
from tests import postgres
from tests.pages import PageClient
from tests.people import BY, Cast, hire
from tests.served import chromium, served, sign_in
from tests.served import tablet as touch_device
from tests.whole_shop import WholeShop, play_it

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
KEY = "a key for tests only, and long enough to be one"
ROOM = 2_000_000_000  # bytes; a run takes about a tenth of it


# Property tests repeat themselves exactly, and a slow machine fails none.
settings.register_profile("house", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("house")


def pytest_configure() -> None:
    """Work in memory where there is room: hundreds of databases are made, and each of their commits is synced."""
    memory = Path("/dev/shm")  # noqa: S108 - each run makes a folder of its own in it
    if "TMPDIR" not in os.environ and memory.is_dir() and os.access(memory, os.W_OK):
        found = os.statvfs(memory)  # some tests start programs that they write
        if found.f_bavail * found.f_frsize > ROOM and not found.f_flag & os.ST_NOEXEC:
            os.environ["TMPDIR"] = tempfile.tempdir = str(memory)


@pytest.fixture(scope="session", autouse=True)
def quick_hashes() -> None:
    """Passwords are hashed slowly on purpose; tests of everything else need not wait. test_secrets pins the real cost."""
    secrets.use(time_cost=1, memory_cost=8)


@pytest.fixture(scope="session", autouse=True)
def pdf_process() -> Iterator[None]:
    """The processes that make PDFs and read photos stay warm from test to test; they end with them."""
    yield
    pdf.shared.close()
    apart.shared.close()


def configure(data: Path, url: str) -> Config:
    return Config(data=data, database_url=url, photo_url=(data / "photos").as_uri(), secret_key=KEY)


def furnish(url: str, data: Path) -> Cast:
    """Open the shop and hire the cast in a database at the newest schema."""
    app = create_app(configure(data, url))
    with app.app_context(), transaction():
        shop_service.open_shop("Lowgate Valve Repairs", by=BY, now=NOW, address="3 Lowgate, Harrowmere",
                               phone="555 0101", email="bench@lowgate.example",
                               least_views=1)  # one view and the plate: what six are asked for has tests of its own
        cast = hire(NOW)
    _close(app)
    return cast


@pytest.fixture(scope="session")
def sqlite_templates(tmp_path_factory: pytest.TempPathFactory, quick_hashes: None) -> tuple[Path, Path, Cast]:
    """Two databases to copy, so that migrations run once a session: one blank, one with the shop and its cast."""
    folder = tmp_path_factory.mktemp("templates")
    blank, furnished = folder / "blank.db", folder / "furnished.db"
    engine = make_engine(f"sqlite:///{blank}")
    migrate.upgrade(engine)
    engine.dispose()
    shutil.copy(blank, furnished)
    return blank, furnished, furnish(f"sqlite:///{furnished}", folder)


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A server of our own."""
    with postgres.server() as address:
        yield address


@pytest.fixture(scope="session")
def postgres_templates(postgres_server: str, tmp_path_factory: pytest.TempPathFactory,
                       quick_hashes: None) -> tuple[str, Cast]:
    """The same two, as template databases `blank` and `furnished`."""
    postgres.command(postgres_server, "CREATE DATABASE blank")
    engine = make_engine(f"{postgres_server}/blank")
    migrate.upgrade(engine)
    engine.dispose()
    postgres.command(postgres_server, "CREATE DATABASE furnished TEMPLATE blank")
    cast = furnish(f"{postgres_server}/furnished", tmp_path_factory.mktemp("templates"))
    return postgres_server, cast


@pytest.fixture(scope="session")
def whole_shop(tmp_path_factory: pytest.TempPathFactory, quick_hashes: None) -> WholeShop:
    """The filled shop, played once and watched; on SQLite, with no connection open. Take a copy to change anything."""
    return play_it(tmp_path_factory.mktemp("whole-shop"))


@pytest.fixture(params=["sqlite", "postgresql"])
def engine_name(request: pytest.FixtureRequest) -> str:
    """Each engine in turn."""
    name: str = request.param
    return name


@pytest.fixture
def blank_url(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An own, empty database at the newest schema."""
    yield from _own_database(engine_name, request, tmp_path, furnished=False)


@pytest.fixture
def furnished_url(engine_name: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An own database with the shop open and its people hired."""
    yield from _own_database(engine_name, request, tmp_path, furnished=True)


def _own_database(engine_name: str, request: pytest.FixtureRequest, folder: Path, *, furnished: bool) -> Iterator[str]:
    if engine_name == "sqlite":
        blank, full, _ = request.getfixturevalue("sqlite_templates")
        shutil.copy(full if furnished else blank, folder / "tagstrip.db")
        yield f"sqlite:///{folder / 'tagstrip.db'}"
        return
    address, _ = request.getfixturevalue("postgres_templates")
    name = f"t{uuid.uuid4().hex}"
    postgres.command(address, f"CREATE DATABASE {name} TEMPLATE {'furnished' if furnished else 'blank'}")
    yield f"{address}/{name}"
    postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def bare_app(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    """The one application of this process: to make its addresses and templates anew would cost every test a quarter second."""
    return create_app(configure(tmp_path_factory.mktemp("bare"), "sqlite://"))


@pytest.fixture
def empty_app(bare_app: Flask, tmp_path: Path, blank_url: str) -> Iterator[Flask]:
    """An application before its first start."""
    with working_on(bare_app, configure(tmp_path, blank_url)):
        yield bare_app


@pytest.fixture
def app(bare_app: Flask, tmp_path: Path, furnished_url: str, cast: Cast) -> Iterator[Flask]:
    """An application with an open shop and its cast of people."""
    with working_on(bare_app, configure(tmp_path, furnished_url)):
        yield bare_app


@contextmanager
def working_on(app: Flask, config: Config) -> Iterator[None]:
    """The application on a data folder of one test's own; what that test sets in it goes with the test."""
    settings, extensions = dict(app.config), dict(app.extensions)
    work_on(app, config)
    compiled_once(app.extensions["tagstrip_db"].engine)
    try:
        yield
    finally:
        _close(app)
        for kept, before in ((app.config, settings), (app.extensions, extensions)):
            kept.clear()
            kept.update(before)


@pytest.fixture
def cast(engine_name: str, request: pytest.FixtureRequest) -> Cast:
    """Who works in the shop of `app`."""
    found: Cast = request.getfixturevalue("sqlite_templates" if engine_name == "sqlite" else "postgres_templates")[-1]
    return found


@pytest.fixture
def context(app: Flask) -> Iterator[Flask]:
    """Inside the application: for tests of services and queries."""
    with app.app_context():
        yield app


@pytest.fixture
def counter(app: Flask, cast: Cast) -> PageClient:
    """The counter's browser, signed in."""
    return PageClient(app).sign_in(cast.counter)


@pytest.fixture
def technician(app: Flask, cast: Cast) -> PageClient:
    """The technician's browser, signed in."""
    return PageClient(app).sign_in(cast.technician)


@pytest.fixture
def owner(app: Flask, cast: Cast) -> PageClient:
    """The owner's browser, signed in."""
    return PageClient(app).sign_in(cast.owner)


@pytest.fixture
def stranger(app: Flask) -> PageClient:
    """A browser in which nobody is signed in."""
    return PageClient(app)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The one browser of this process: the driver refuses to be started beside itself."""
    with chromium() as browser:
        yield browser


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    """Where the shop of `app` answers."""
    with served(app) as address:
        yield address


@pytest.fixture
def tablet(browser: Browser, address: str, app: Flask, cast: Cast) -> Iterator[Page]:
    """The technician's bench tablet, signed in, before a running shop."""
    context = touch_device(browser, address)
    sign_in(context, app, address, cast.technician.id)
    yield context.new_page()
    context.close()


_first_of: dict[str, sa.Engine] = {}  # of each kind of database, one that has connected


def compiled_once(engine: sa.Engine) -> None:
    """Share with the first engine of its kind what SQLAlchemy has compiled: to compile each statement anew would cost every
    test a quarter of its time. The cache's keys hold the dialect, so that is shared too.
    """
    first = _first_of.get(engine.dialect.name)
    if first is None:
        with engine.connect():  # the dialect asks the database about itself
            _first_of[engine.dialect.name] = engine
        return
    engine.dialect = first.dialect
    engine.pool._dialect = first.dialect  # type: ignore[assignment]
    engine._compiled_cache = first._compiled_cache


def _close(app: Flask) -> None:
    found: Database = app.extensions["tagstrip_db"]
    found.close()
