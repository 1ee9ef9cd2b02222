"""A clock that jumps is marked, ends sign-ins instead of prolonging them, and lets nothing go by age until it is confirmed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.access import clean_up, clock_jumps
from app.access.models import SignIn
from app.db import session, transaction
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.kernel.clock_watch import BACK, FORWARD, UNSEEN, ClockWatch, Jump, jump_since
from app.kernel.models import ClockJump, OnceKey
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import PASSWORD, Cast

SECOND, HOUR, DAY = timedelta(seconds=1), timedelta(hours=1), timedelta(days=1)


@pytest.mark.parametrize(("steady", "wall", "jumps"), [
    (60.0, 60 * SECOND, False), (60.0, 61 * SECOND, False), (3 * 86400.0, 3 * DAY, False),
    (60.0, 60 * SECOND - BACK + SECOND, False), (60.0, 60 * SECOND - BACK - SECOND, True), (60.0, -HOUR, True),
    (60.0, FORWARD, False), (60.0, FORWARD + 61 * SECOND, True),
    (1.0, 3 * DAY, True)])
def test_the_clock_is_held_against_one_that_cannot_be_set(steady: float, wall: timedelta, jumps: bool) -> None:
    watch = ClockWatch(NOW, 100.0)
    found = watch.look(NOW + wall, 100.0 + steady)
    assert (found is not None) is jumps
    if found:
        assert found == Jump(NOW + timedelta(seconds=steady), NOW + wall)
        assert watch.look(NOW + wall + SECOND, 101.0 + steady) is None, "it is told once"


def test_small_steps_do_not_add_up() -> None:
    """A time server's steps of a second each, all day: NTP steps by more than 128 ms at most a few times (RFC 5905, 11.3)."""
    watch = ClockWatch(NOW, 0.0)
    assert all(watch.look(NOW + n * (HOUR - SECOND), n * 3600.0) is None for n in range(1, 400))


@pytest.mark.parametrize(("after", "jumps"), [(-HOUR, True), (-BACK - SECOND, True), (-SECOND, False), (10 * DAY, False),
                                              (UNSEEN, False), (UNSEEN + SECOND, True)])
def test_at_a_start_it_is_held_against_what_was_written_last(after: timedelta, jumps: bool) -> None:
    assert (jump_since(NOW, NOW + after) is not None) is jumps
    assert jump_since(None, NOW) is None


@pytest.fixture
def clockwork(app: Flask, monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, float]]:
    """A machine whose two clocks the test sets: the one on the wall, and the one that nobody can set."""
    began, hands = clock.now(), {"wall": 0.0, "steady": 0.0}
    monkeypatch.setattr(clock, "now", lambda: began + timedelta(seconds=hands["wall"]))
    monkeypatch.setattr(clock, "steady", lambda: hands["steady"])
    clock_jumps.watch(app)
    yield hands
    app.extensions.pop(clock_jumps.WATCH)


@pytest.mark.parametrize("by", [-300.0, -86400.0, 3 * 86400.0])
def test_a_jump_ends_every_sign_in_and_is_entered(app: Flask, owner: PageClient, clockwork: dict[str, float], by: float) -> None:
    owner.get("/")
    clockwork["wall"] += 5 + by
    clockwork["steady"] += 5
    assert "Sign in" in owner.get("/").title
    with app.app_context():
        assert session().scalar(sa.select(sa.func.count()).select_from(SignIn).where(SignIn.ended_at.is_(None))) == 0
        entry = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == Event.CLOCK_JUMPED.value)).one()
        assert entry.person_id is None
        assert session().scalar(sa.select(sa.func.count()).select_from(ClockJump)) == 1


def test_nothing_goes_by_age_until_the_owner_confirms_the_clock(app: Flask, owner: PageClient, stranger: PageClient, cast: Cast,
                                                                clockwork: dict[str, float]) -> None:
    with app.app_context(), transaction() as current:
        current.add(OnceKey(key="a", person_id=None, fingerprint="", location="/", at=clock.now() - 29 * DAY))
    clockwork["wall"] += 3 * 86400
    owner.get("/")
    form = {**stranger.get("/people/sign-in").fields("/people/sign-in"), "name": cast.owner.name, "password": PASSWORD}
    page = stranger.send("/people/sign-in", form)
    assert "The clock of this machine jumped" in page.words and "Look at the clock" in page.words
    with app.app_context():
        assert session().get(OnceKey, "a") is not None
    assert "Nothing is deleted by age until then" in stranger.get("/shop/clock").words
    page = stranger.post("/shop/clock")
    assert "Nothing is open" in page.words
    assert "jumped" not in stranger.get("/").words
    with app.app_context(), transaction() as current:
        assert current.scalars(sa.select(ClockJump)).one().confirmed_by == cast.owner.name
        clean_up.once_a_day(current, clock.now())
        assert session().get(OnceKey, "a") is None
        assert current.scalar(sa.select(sa.func.count()).select_from(JournalEntry)
                              .where(JournalEntry.event == Event.CLOCK_CONFIRMED.value)) == 1


def test_only_the_owner_is_told_and_confirms(app: Flask, technician: PageClient, cast: Cast) -> None:
    with app.app_context(), transaction():
        clock_jumps.note(Jump(NOW, NOW + 3 * DAY), now=clock.now())
    again = PageClient(app).sign_in(cast.technician)
    assert "jumped" not in again.get("/").words
    again.get("/shop/clock", status=403)


def test_files_that_wait_stay_too(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    from app.kernel import upload_holding as shelf

    kept = shelf.put("person 1", "/", [], NOW)
    with transaction():
        clock_jumps.note(Jump(NOW, NOW + 30 * DAY), now=NOW + 30 * DAY)
    shelf.put("person 1", "/", [], NOW + 30 * DAY)
    assert kept.id in shelf.standing_ids()
    with transaction():
        clock_jumps.confirm(by=clock_jumps.PROGRAM, now=NOW + 30 * DAY)
    shelf.put("person 1", "/", [], NOW + 30 * DAY)
    assert kept.id not in shelf.standing_ids()


def test_at_a_start_a_clock_that_is_behind_the_journal_is_marked(context: Flask) -> None:
    newest: datetime = session().scalars(sa.select(JournalEntry.at).order_by(JournalEntry.seq.desc())).first()  # type: ignore[assignment]
    with transaction():
        clock_jumps.look_at_start(newest + HOUR)
        assert not clock_jumps.open_jumps()
        clock_jumps.look_at_start(newest - HOUR)
        assert len(clock_jumps.open_jumps()) == 1
