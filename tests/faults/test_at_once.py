"""Eight people post eight forms each at the same moment, each form twice: all is there, none twice, and nobody meets an error."""

from __future__ import annotations

import http.client
import secrets
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from urllib.parse import urlencode, urlsplit

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.access.models import Person
from app.access.rules import Role
from app.db import THREADS, Database, session, transaction
from app.findings.models.waste import Waste
from app.findings.rules.waste import Material
from app.journal import service as journal
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.kernel.tokens import SIGN_IN_COOKIE
from app.orders.models import RepairOrder
from app.orders.standing import calculate, differences, from_row, stored
from tests import factories
from tests.pages import PageClient
from tests.people import Cast, Somebody

pytestmark = pytest.mark.fault
WRITERS = POSTS = 8


class Writer:
    """One person at a browser, with eight forms filled in."""

    def __init__(self, number: int, client: PageClient, path: str) -> None:
        token = client.client.get_cookie(SIGN_IN_COOKIE)
        assert token is not None
        self.path, self.cookie, own = path, f"{SIGN_IN_COOKIE}={token.value}", client.token()["page_token"]
        self.forms = [{"page_token": own, "once": secrets.token_hex(16),
                       "material": Material.LEAD.value, "quantity": "1", "unit": "pieces",
                       "container": f"tin {number}-{post}", "note": ""} for post in range(POSTS)]

    def post(self, address: str, form: dict[str, str]) -> int:
        connection = http.client.HTTPConnection(urlsplit(address).netloc, timeout=60)
        try:
            connection.request("POST", self.path, urlencode(form), {"Cookie": self.cookie,
                                                                    "Content-Type": "application/x-www-form-urlencoded"})
            return connection.getresponse().status
        finally:
            connection.close()


@pytest.fixture
def writers(app: Flask, cast: Cast) -> Iterator[list[Writer]]:
    """Each at an order of their own but two, who share one."""
    with app.app_context(), transaction():
        orders = [factories.order(amp=factories.amp(serial=f"A-{number}")).id for number in range(WRITERS - 1)]
        person = session().get_one(Person, cast.technician.id)
        assert person.role is Role.TECHNICIAN
    yield [Writer(number, PageClient(app).sign_in(Somebody(cast.technician.id, cast.technician.name)),
                  f"/orders/{orders[number % len(orders)]}/waste") for number in range(WRITERS)]


def test_eight_at_once_each_twice(app: Flask, address: str, writers: list[Writer]) -> None:
    begin = threading.Barrier(2 * WRITERS)

    def work(writer: Writer) -> list[tuple[str, int]]:
        begin.wait()
        return [(form["container"], writer.post(address, form)) for form in writer.forms]

    with ThreadPoolExecutor(2 * WRITERS) as pool:
        answers = [one for found in pool.map(work, [*writers, *writers]) for one in found]
    assert Counter(status for _, status in answers) == {303: 2 * WRITERS * POSTS}
    with app.app_context():
        kept = Counter(session().scalars(sa.select(Waste.container)))
        assert kept == dict.fromkeys((form["container"] for writer in writers for form in writer.forms), 1)
        entered = session().scalars(sa.select(JournalEntry.subject_id).where(JournalEntry.event == Event.WASTE_RECORDED)).all()
        assert len(entered) == len(set(entered)) == WRITERS * POSTS and journal.verify() == []
        for order in session().scalars(sa.select(RepairOrder)):
            row = from_row(stored([order.id])[order.id])
            assert differences(row, calculate(order, clock.now())) == []


def test_whoever_writes_is_alone(app: Flask) -> None:
    """Between two saves nothing of the one is seen by the other: the second begins when the first has ended."""
    first_in, go, order = threading.Event(), threading.Event(), []

    def write(name: str, wait: bool) -> None:
        with app.app_context(), transaction():
            order.append(f"{name} begins")
            if wait:
                first_in.set()
                go.wait(30)
            order.append(f"{name} ends")

    threads = [threading.Thread(target=write, args=("first", True)), threading.Thread(target=write, args=("second", False))]
    threads[0].start()
    assert first_in.wait(30)
    threads[1].start()
    threads[1].join(0.3)
    go.set()
    for thread in threads:
        thread.join(30)
    assert order == ["first begins", "first ends", "second begins", "second ends"]


def test_another_process_waits_too(app: Flask) -> None:
    """The process's own lock does not reach it: the database's does (BEGIN IMMEDIATE, or the advisory lock)."""
    found: Database = app.extensions["tagstrip_db"]
    other = Database(found.engine)
    entered = threading.Event()

    def elsewhere() -> None:
        with app.app_context():
            app.extensions["tagstrip_db"] = other  # as if it were another process: same database, another lock
            try:
                with transaction():
                    entered.set()
            finally:
                app.extensions["tagstrip_db"] = found

    with app.app_context(), transaction():
        thread = threading.Thread(target=elsewhere)
        thread.start()
        assert not entered.wait(0.3)
    thread.join(30)
    assert entered.is_set()


def test_every_thread_of_the_server_has_its_connections(app: Flask) -> None:
    """Sixteen readers at once, each with its session and one connection beside it: nobody waits until it is an error."""
    engine = app.extensions["tagstrip_db"].engine
    with ExitStack() as held:
        for _ in range(2 * THREADS):
            held.enter_context(engine.connect()).execute(sa.text("SELECT 1"))
        with pytest.raises(sa.exc.TimeoutError):
            engine.pool._timeout = 0.01  # type: ignore[attr-defined]
            engine.connect()
