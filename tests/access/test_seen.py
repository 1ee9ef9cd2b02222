"""“Last seen” is noted without writing: a page that only reads takes no write lock and waits for no writer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.access.models import SignIn
from app.access.rules import IDLE, Role
from app.db import Database, queue_to_write, session, transaction
from tests import factories
from tests.bench.make import counted
from tests.pages import PageClient


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> list[timedelta]:
    """How far the clock is ahead: the sum of what the test puts in."""
    ahead: list[timedelta] = []
    now = clock.now
    monkeypatch.setattr(clock, "now", lambda: now() + sum(ahead, timedelta()))
    return ahead


@contextmanager
def somebody_writes(app: Flask) -> Iterator[None]:
    """A writer of this process and one of another hold their locks, and do not let go."""
    database: Database = app.extensions["tagstrip_db"]
    with database.lock, database.engine.connect().execution_options(writing=True) as connection, connection.begin():
        queue_to_write(connection)
        yield


def stored(app: Flask) -> datetime:
    with app.app_context():
        found = session().scalar(sa.select(sa.func.max(SignIn.seen_at)))
        assert found is not None
        return found


@pytest.mark.timeout(60)
def test_a_page_opens_while_somebody_writes(app: Flask, technician: PageClient, later: list[timedelta]) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    later.append(timedelta(minutes=5))
    with somebody_writes(app), counted(app) as statements:
        for path in ("/", f"/orders/{order_id}", "/records"):
            assert technician.client.get(path).status_code == 200
    assert [one for one in statements if one.split()[0] in ("INSERT", "UPDATE", "DELETE") or one == "BEGIN IMMEDIATE"] == []


def test_it_is_written_down_with_the_next_save(app: Flask, technician: PageClient, later: list[timedelta]) -> None:
    before = stored(app)
    later.append(timedelta(minutes=5))
    technician.get("/")
    assert stored(app) == before
    with app.app_context(), transaction():
        factories.order()
    assert timedelta(minutes=5) <= stored(app) - before < timedelta(minutes=6)


def test_a_save_that_is_undone_leaves_it_noted(app: Flask, technician: PageClient, later: list[timedelta]) -> None:
    before = stored(app)
    later.append(timedelta(minutes=5))
    technician.get("/")
    with app.app_context():
        with pytest.raises(sa.exc.IntegrityError), transaction() as current:
            current.execute(sa.text("INSERT INTO once_key (key) VALUES (NULL)"))
        with transaction():
            factories.order()
    assert stored(app) > before


def test_who_reads_stays_signed_in_and_who_is_away_does_not(technician: PageClient, later: list[timedelta]) -> None:
    for _ in range(3):
        later.append(IDLE[Role.TECHNICIAN] - timedelta(minutes=1))
        assert technician.client.get("/").status_code == 200
    later.append(IDLE[Role.TECHNICIAN] + timedelta(minutes=1))
    assert technician.client.get("/").status_code == 303
