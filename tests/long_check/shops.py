"""A small shop on either engine, with an open order and people signed in."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from flask import Flask

from app import clock, create_app, migrate
from app.access import secrets
from app.access import service as accounts
from app.access.models import Person
from app.access.rules import Role
from app.config import Config
from app.db import make_engine, session, transaction
from app.orders.models import RepairOrder
from app.shop import service as shop_service
from tests import factories, postgres
from tests.people import BY, hire

KEY = "a key for this check only, and long enough to be one"


@dataclass(frozen=True)
class Small:
    """Where it is, its orders, and cookies of open sign-ins."""

    config: Config
    orders: tuple[int, ...]
    tokens: tuple[str, ...]


@contextmanager
def databases(folder: Path) -> Iterator[dict[str, str]]:
    """An empty database on each engine, by name."""
    with postgres.server() as address:
        postgres.command(address, "CREATE DATABASE shop")
        yield {"SQLite": f"sqlite:///{folder / 'tagstrip.db'}", "PostgreSQL": f"{address}/shop"}


def small(data: Path, url: str, *, people: int, orders: int) -> Small:
    """Open a shop, sign in so many technicians, check in so many amps; ends with no connection open."""
    secrets.use(time_cost=1, memory_cost=8)
    engine = make_engine(url)
    migrate.upgrade(engine)
    engine.dispose()
    config = Config(data=data, database_url=url, photo_url=(data / "photos").as_uri(), secret_key=KEY)
    (data / "secret.key").write_text(KEY, encoding="ascii")
    (data / "secret.key").chmod(0o600)
    app = create_app(config)
    now = clock.now()
    with app.app_context(), transaction():
        shop_service.open_shop("Lowgate Valve Repairs", by=BY, now=now, address="3 Lowgate, Harrowmere", phone="555 0101",
                               email="bench@lowgate.example")
        hire(now)
        found = [factories.order(amp=factories.amp(serial=f"L-{number}")).id for number in range(orders)]
        tokens = []
        for number in range(people):
            person = accounts.add_person(f"Bench {number}", Role.TECHNICIAN, f"forty plain words {number}", by=BY, now=now)
            session().flush()
            tokens.append(accounts.open_sign_in(session().get_one(Person, person.id), None, agent="a browser", now=now,
                                                  by_password=True)[1])
        assert all(session().get(RepairOrder, one) for one in found)
    let_go(app)
    return Small(config, tuple(found), tuple(tokens))


def let_go(app: Flask) -> None:
    """Close its connections, so that the process can be forked or another can have the files."""
    with app.app_context():
        session().close()
    app.extensions["tagstrip_db"].close()


@contextmanager
def folder() -> Iterator[Path]:
    """A place of its own on the disk that temporary files lie on."""
    with tempfile.TemporaryDirectory(prefix="tagstrip-check-") as name:
        yield Path(name)
