"""People, the shop's settings and the limits want the password itself, given within five minutes.

The figure is the shop's own rule after OWASP ASVS 5.0, 7.5.1 and 7.5.3 (authenticate again before sensitive changes).
"""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask

from app import clock
from app.access import service
from app.access.models import Person
from app.access.rules import PASSWORD_LASTS, May, password_counts
from app.db import session, transaction
from app.kernel.needs import needs
from app.kernel.saving import _fingerprint
from app.kernel.tokens import SECRET_FIELDS, SIGN_IN_COOKIE
from tests.conftest import NOW
from tests.pages import PageClient
from tests.people import PASSWORD, Cast, Somebody

ASKS = "Enter your password"


def by_pin(app: Flask, who: Somebody) -> PageClient:
    """Signed in without the password."""
    client = PageClient(app)
    with app.app_context(), transaction():
        _, token = service.open_sign_in(session().get_one(Person, who.id), None, agent="a tablet", by_password=False,
                                        now=clock.now())
    client.client.set_cookie(SIGN_IN_COOKIE, token)
    return client


def later(monkeypatch: pytest.MonkeyPatch, by: timedelta) -> None:
    then = clock.now() + by
    monkeypatch.setattr(clock, "now", lambda: then)


def test_five_minutes_and_no_clock_that_runs_backwards() -> None:
    assert not password_counts(None, NOW)
    assert password_counts(NOW, NOW) and password_counts(NOW - PASSWORD_LASTS, NOW)
    assert not password_counts(NOW - PASSWORD_LASTS - timedelta(seconds=1), NOW)
    assert not password_counts(NOW + timedelta(seconds=1), NOW)


# What takes a customer's record out of the shop or out of its records, and to whom its mail goes.
AT_STAKE = {"staff.add_passkey", "staff.passkey_to_add", "staff.end_own_passkey",
            "personal.record", "personal.record_file", "personal.erase", "personal.end_keeping", "mail.page", "mail.set_password"}


def test_every_page_of_people_shop_and_limits_asks(app: Flask) -> None:
    """Over all routes, so that a page added later cannot be forgotten."""
    for name, view in app.view_functions.items():
        room = name.split(".")[0]
        wanted = needs(view) is May.PEOPLE or (needs(view) is May.SETTINGS and room in ("shop", "profiles")) or name in AT_STAKE
        assert getattr(view, "asks_password", False) is wanted, name


@pytest.mark.parametrize("path", ["/people", "/shop", "/people/1"])
def test_a_pin_never_reaches_them_and_the_password_leads_on(app: Flask, cast: Cast, path: str) -> None:
    client = by_pin(app, cast.owner)
    page = client.get(path, status=403)
    assert page.title.startswith(ASKS)
    page = client.send("/people/password", {**page.fields(), "own_password": "not the right one"})
    assert page.title == f"Error: {ASKS} · Tagstrip" and "not your password" in page.words
    page = client.send("/people/password", {**page.fields(), "own_password": PASSWORD})
    assert not page.title.startswith(ASKS)
    assert client.client.get(path).status_code == 200, "the password counts for five minutes"


def test_what_was_typed_is_saved_with_the_password_and_nothing_is_saved_before(
        app: Flask, owner: PageClient, monkeypatch: pytest.MonkeyPatch) -> None:
    fields = {**owner.get("/shop").fields(), "name": "Highgate Valve Repairs"}
    later(monkeypatch, PASSWORD_LASTS + timedelta(seconds=1))
    page = owner.send("/shop", fields, status=403)
    assert page.title.startswith(ASKS) and "Highgate Valve Repairs" in page.words
    page = owner.send("/shop", {**page.fields("/shop"), "own_password": "not the right one"}, status=403)
    assert "Highgate" not in owner.get("/").text
    page = owner.send("/shop", {**page.fields("/shop"), "own_password": PASSWORD})
    assert "Highgate Valve Repairs" in page.words
    repeat = owner.send("/shop", {**fields, "own_password": PASSWORD})
    assert "saved already" in repeat.words, "with or without the password, the same form counts once"


def test_wrong_passwords_there_are_slowed_as_at_the_door(app: Flask, cast: Cast) -> None:
    client = by_pin(app, cast.owner)
    page = client.get("/people", status=403)
    for _ in range(5):
        page = client.send("/people/password", {**page.fields(), "own_password": "not the right one"})
    page = client.send("/people/password", {**page.fields(), "own_password": PASSWORD})
    assert "Too many tries" in page.words


def test_no_trace_of_a_password_stays_in_what_a_save_keeps(app: Flask, cast: Cast) -> None:
    """The key of a saved form is kept with a quick hash of its entries: a password in it could be guessed from that."""
    marks = []
    for password in (PASSWORD, "not the right one at all"):
        with app.test_request_context("/shop", method="POST", data={"name": "x", "own_password": password,
                                                                    "new_password": password, "pin": password}):
            marks.append(_fingerprint())
    assert marks[0] == marks[1]


def test_the_way_back_stays_on_this_site(app: Flask, cast: Cast) -> None:
    client = by_pin(app, cast.owner)
    page = client.get("/people", status=403)
    answer = client.client.post("/people/password", data={**page.fields(), "then": "//elsewhere.example/x",
                                                          "own_password": PASSWORD})
    assert answer.headers["Location"] == "/"


def test_every_secret_that_a_form_takes_is_known_as_one() -> None:
    """Else it would be kept with a form that is held or shown again."""
    found = [name for path in (Path(__file__).parents[2] / "app").rglob("forms*.py")
             for name in re.findall(r"^    (\w+) = PasswordField\(", path.read_text(encoding="utf-8"), re.MULTILINE)]
    assert len(found) > 8 and set(found) <= SECRET_FIELDS
