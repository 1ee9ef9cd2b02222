"""What a try costs, and whom it keeps waiting: counted in work done, not in time."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask, g

from app.access import guessing, secrets, service, trying
from app.access.models import Person
from app.db import database, session, transaction
from app.journal.events import Event
from app.journal.models import JournalEntry
from tests.conftest import NOW
from tests.pages import PageClient
from tests.people import PASSWORD, Cast

HERE, THERE = "address 192.168.1.66", "address 192.168.1.7"


class Work:
    """Slow hashes that were worked out, and whether the write lock was held meanwhile."""

    def __init__(self, app: Flask) -> None:
        self.app, self.hashes, self.under_lock = app, 0, 0

    def count(self, *_given: Any) -> bool:
        self.hashes += 1
        with self.app.app_context():
            self.under_lock += database().lock.locked()
        return False


@pytest.fixture
def work(app: Flask, monkeypatch: pytest.MonkeyPatch) -> Iterator[Work]:
    from argon2 import PasswordHasher

    counted = Work(app)
    for name in ("verify", "hash"):
        real = getattr(PasswordHasher, name)
        monkeypatch.setattr(PasswordHasher, name, lambda *given, real=real: counted.count() or real(*given))
    yield counted


def refused(app: Flask) -> int:
    with app.app_context():
        return session().scalar(sa.select(sa.func.count()).select_from(JournalEntry)
                                .where(JournalEntry.event == Event.SIGN_IN_REFUSED.value)) or 0


@pytest.mark.parametrize("name", ["Mara", "Nobody Here"], ids=["known", "unknown"])
def test_name_that_is_not_there_costs_says_and_waits_as_one_that_is(app: Flask, stranger: PageClient, work: Work,
                                                                   name: str) -> None:
    said = []
    for _ in range(guessing.FREE_TRIES + 1):
        page = stranger.post("/people/sign-in", {"name": name, "password": "not the right one"})
        said.append(next(one for one in ("Wrong name or password.", "Too many tries. Wait 1 second") if one in page.words))
    assert said == ["Wrong name or password."] * guessing.FREE_TRIES + ["Too many tries. Wait 1 second"]
    assert work.hashes == guessing.FREE_TRIES and refused(app) == guessing.FREE_TRIES


def test_unknown_names_wait_each_for_itself_and_at_its_place(context: Flask, cast: Cast) -> None:
    for _ in range(guessing.FREE_TRIES):
        trying.password(None, "x", None, name="Nils", now=NOW, address=HERE)
    assert "Too many tries" in (trying.password(None, "x", None, name="  NILS ", now=NOW, address=HERE) or "")
    assert trying.password(None, "x", None, name="Nina", now=NOW, address=HERE) == trying.NO_MATCH
    assert trying.password(None, "x", None, name="Nils", now=NOW, address=THERE) == trying.NO_MATCH
    assert trying.password(None, "x", None, name="Nils", now=NOW + timedelta(seconds=2), address=HERE) == trying.NO_MATCH


def test_no_slow_hash_under_the_write_lock(app: Flask, owner: PageClient, stranger: PageClient, work: Work, cast: Cast) -> None:
    stranger.post("/people/sign-in", {"name": "Mara", "password": "not the right one"})
    stranger.post("/people/sign-in", {"name": "Mara", "password": PASSWORD})
    owner.post("/people/me", {"now_password": PASSWORD, "new_pin": "739164", "new_password": "the other quiet harbour"})
    with app.app_context():
        assert session().scalar(sa.select(Person.pin_hash).where(Person.id == cast.owner.id))
    assert (work.hashes, work.under_lock) == (5, 0)


def test_a_slow_hash_under_the_write_lock_is_a_fault_of_ours(app: Flask) -> None:
    with app.test_request_context("/"), transaction(), pytest.raises(RuntimeError, match="write lock"):
        g.sign_in = None  # as in every request that a page answers
        secrets.hash_secret("copper kettle on a slow stove")


def test_two_at_once_and_few_wait(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    inside, most, going, lock = 0, 0, threading.Event(), threading.Lock()

    def slow(_stored: str, _given: str) -> bool:
        nonlocal inside, most
        with lock:
            inside += 1
            most = max(most, inside)
        going.wait(10)
        with lock:
            inside -= 1
        return True

    monkeypatch.setattr(secrets, "secret_fits", slow)
    said: list[str | bool] = []

    def one() -> None:
        try:
            said.append(trying.weigh("stored", "given"))
        except trying.Busy as busy:
            said.append(busy.words)

    threads = [threading.Thread(target=one) for _ in range(12)]
    for thread in threads:
        thread.start()
    while len(said) < 12 - trying.AT_ONCE - trying.WAITING:
        threading.Event().wait(0.01)
    going.set()
    for thread in threads:
        thread.join()
    assert most == trying.AT_ONCE
    assert said.count(True) == trying.AT_ONCE + trying.WAITING and "signing in at this moment" in str(said[0])


def test_one_place_has_so_many_tries_whatever_the_names(context: Flask, work: Work, monkeypatch: pytest.MonkeyPatch) -> None:
    at = 1000.0
    monkeypatch.setattr(guessing, "seconds", lambda: at)
    said = [trying.password(None, "x", None, name=f"Nobody {n}", now=NOW, address=HERE) for n in range(guessing.BURST + 5)]
    assert said[:guessing.BURST] == [trying.NO_MATCH] * guessing.BURST
    assert all("Too many tries" in (one or "") for one in said[guessing.BURST:])
    assert work.hashes == guessing.BURST
    assert trying.password(None, "x", None, name="Nobody", now=NOW, address=THERE) == trying.NO_MATCH  # elsewhere nothing changed
    at += guessing.EVERY_SECONDS
    assert trying.password(None, "x", None, name="Nobody", now=NOW, address=HERE) == trying.NO_MATCH
    assert "Too many tries" in (trying.password(None, "x", None, name="Nobody", now=NOW, address=HERE) or "")


def test_a_day_of_guessing_from_one_place_is_some_fifteen_hundred_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shop's own rule: ten at once, one each six seconds, and from thirty in a row one a minute."""
    at = 0.0
    monkeypatch.setattr(guessing, "seconds", lambda: at)
    budget, tried = guessing.Budget(), 0
    while at < 86_400:
        tried += budget.wait(HERE) == 0
        at += 1
    assert 1400 < tried < 1600
    budget.forget(HERE)
    assert budget.wait(HERE) == 0


def test_what_is_remembered_of_strangers_is_bounded() -> None:
    budget = guessing.Budget()
    for n in range(guessing.MOST_PLACES * 2):
        budget.wait(f"address {n}")
    assert len(budget) == guessing.MOST_PLACES


def test_codes_of_a_device_are_slowed_before_anything_is_locked(stranger: PageClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guessing, "seconds", lambda: 1000.0)
    tried = []
    real = service.enrol
    monkeypatch.setattr(service, "enrol", lambda *given, **more: tried.append(given) or real(*given, **more))
    for _ in range(guessing.BURST + 3):
        page = stranger.post("/people/enrol", {"code": "ABCD EFGH", "name": "Bench 9"})
    assert "Too many tries" in page.words and len(tried) == guessing.BURST
