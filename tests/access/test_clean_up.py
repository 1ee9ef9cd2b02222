"""What goes by age, when, and what must not."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.access import clean_up
from app.access.models import PasswordCode, Person, SignIn
from app.access.rules import LONGEST
from app.access.service import open_sign_in
from app.db import Base, session, transaction
from app.journal import service as journal
from app.kernel.models import HeldPost, OnceKey
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import PASSWORD, Cast

DAY = timedelta(days=1)


def left(model: type[Base]) -> int:
    session().rollback()
    return session().scalar(sa.select(sa.func.count()).select_from(model)) or 0


def rows(cast: Cast) -> None:
    """Of each kind one on either side of its age, to the second."""
    current = session()
    for at, (name, age) in enumerate((("old", timedelta(seconds=1)), ("young", -timedelta(seconds=1)))):
        moments = {one.model: NOW - one.kept_for - age for one in clean_up.AGES}
        current.add(OnceKey(key=name, person_id=cast.counter.id, fingerprint="f", location="/", at=moments[OnceKey]))
        current.add(HeldPost(id=name, person_id=cast.counter.id, path="/", fields="[]", files="[]", at=moments[HeldPost]))
        current.add(PasswordCode(person_id=cast.counter.id, code_hash=name, made_at=moments[PasswordCode]))
        for ended in (moments[SignIn], None):
            current.add(SignIn(token_hash=f"{name}{ended}{at}", person_id=cast.counter.id, agent="a browser",
                               started_at=moments[SignIn], seen_at=moments[SignIn], password_at=moments[SignIn], ended_at=ended))


def test_what_is_older_than_its_age_goes_and_nothing_else(context: Flask, cast: Cast) -> None:
    with transaction():
        rows(cast)
    with transaction() as current:
        assert clean_up.clean_up(current, NOW) == 5
    assert (left(OnceKey), left(HeldPost), left(SignIn)) == (1, 1, 2)
    assert session().scalars(sa.select(OnceKey.key)).all() == ["young"]


def test_the_journal_still_tells_who_signed_in(context: Flask, cast: Cast) -> None:
    with transaction() as current:
        before = current.scalar(sa.text("SELECT count(*) FROM journal_entry"))
        opened, _ = open_sign_in(current.get_one(Person, cast.counter.id), None, agent="a browser", by_password=True,
                                 now=NOW - 60 * DAY)
        opened.ended_at = NOW - 59 * DAY
    with transaction() as current:
        assert clean_up.clean_up(current, NOW) == 1
    with transaction() as current:
        assert current.scalar(sa.text("SELECT count(*) FROM journal_entry")) == before + 1
        assert journal.verify() == []


def test_no_sign_in_that_may_still_be_open_goes(context: Flask, cast: Cast) -> None:
    """Whatever age is set there: the longest sign-in is shorter."""
    assert {one.model: one.kept_for for one in clean_up.AGES}[SignIn] > LONGEST
    with transaction() as current:
        open_sign_in(current.get_one(Person, cast.counter.id), None, agent="a browser", by_password=True, now=NOW - LONGEST)
    with transaction() as current:
        assert clean_up.clean_up(current, NOW) == 0


def test_a_key_stays_as_long_as_its_form_can_come_again() -> None:
    ages = {one.model: one.kept_for for one in clean_up.AGES}
    assert ages[OnceKey] > ages[HeldPost] + LONGEST


def test_it_runs_once_a_day_with_a_sign_in_and_never_with_a_page_that_is_read(app: Flask, cast: Cast, stranger: PageClient,
                                                                              monkeypatch: pytest.MonkeyPatch) -> None:
    now = clock.now()
    runs: list[int] = []
    monkeypatch.setattr(clean_up, "clean_up", lambda _current, at: runs.append(at.toordinal()) or 0)

    def sign_in() -> None:
        stranger.post("/people/sign-in", {"name": "Mara", "password": PASSWORD})

    sign_in()
    assert len(runs) == 1
    stranger.get("/"), stranger.get("/records")
    sign_in()
    assert len(runs) == 1
    monkeypatch.setattr(clock, "now", lambda: now + DAY)
    sign_in()
    assert runs == [now.toordinal(), now.toordinal() + 1]
