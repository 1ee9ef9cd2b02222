"""For whom a form is kept that came without a sign-in, what its page says, and what is never kept."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as Xml

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.access.models import SignIn
from app.access.rules import Role
from app.db import session, transaction
from app.kernel import needs
from app.kernel.models import HeldPost
from app.kernel.tokens import SECRET_FIELDS, SIGN_IN_COOKIE
from app.orders.stages import Stage
from tests import factories
from tests.hostile import Walk
from tests.pages import HTML, Page, PageClient, values
from tests.people import PASSWORD, Cast
from tests.whole_shop import WholeShop, opened, somebody

TYPED = "Bulged can on the reservoir"
FINDING = {"origin": "wear", "disposition": "replace_like", "observation": TYPED}


@pytest.fixture
def at(app: Flask) -> str:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.TEARDOWN
        return f"/orders/{order.id}/findings/new"


def held(app: Flask) -> list[tuple[int | None, str]]:
    with app.app_context():
        return [(one.person_id, one.path) for one in session().scalars(sa.select(HeldPost))]


def end_all(app: Flask) -> None:
    with app.app_context(), transaction():
        session().execute(sa.update(SignIn).values(ended_at=clock.now()))


def test_kept_for_whom_its_page_was_given_to_and_shown_with_who_where_and_when(
        app: Flask, technician: PageClient, stranger: PageClient, cast: Cast, at: str) -> None:
    form = {**technician.get(at).fields(at), **FINDING}
    end_all(app)
    sent = stranger.send(at, form)  # the cookie is gone too, as after a browser's restart
    assert "What you sent is kept" in sent.words and held(app) == [(cast.technician.id, at)]
    where = "/held/" + sent.fields()["held"]
    page = stranger.send("/people/sign-in", {**sent.fields(), "name": "Ines", "password": PASSWORD})
    assert TYPED in page.words and at in page.links()
    assert re.search(r"Ines sent this on \d+ \w+ \d{4}, \d\d:\d\d", page.words)
    PageClient(app).sign_in(cast.owner).get(where, status=403)


def test_a_token_of_nobody_keeps_nothing(app: Flask, technician: PageClient, stranger: PageClient, at: str) -> None:
    form = {**technician.get(at).fields(at), **FINDING, "page_token": "0" * 64}
    page = stranger.send(at, form)
    assert "Nothing was saved. Sign in" in page.words and held(app) == []
    own = technician.send(at, form, status=403)
    assert TYPED in own.words and "no token of a page" in own.words and not own.all("form", action=at)
    assert held(app) == []


def test_a_page_of_a_colleague_is_kept_for_the_colleague(app: Flask, technician: PageClient, owner: PageClient, cast: Cast,
                                                         at: str) -> None:
    form = {**technician.get(at).fields(at), **FINDING}
    page = owner.send(at, form, status=403)
    assert "Ines opened this page, and Tove is signed in now" in page.words and "kept until Ines signs in" in page.words
    assert held(app) == [(cast.technician.id, at)] and not page.all("form", action=at)


def test_a_page_of_ones_own_earlier_sign_in_is_kept(app: Flask, technician: PageClient, cast: Cast, at: str) -> None:
    form = {**technician.get(at).fields(at), **FINDING}
    technician.sign_in(cast.technician)
    page = technician.send(at, form)
    assert TYPED in page.words and "Not saved yet" in page.title and held(app) == [(cast.technician.id, at)]


def test_a_page_older_than_what_waits_keeps_nothing(app: Flask, technician: PageClient, stranger: PageClient, at: str,
                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    form, later = {**technician.get(at).fields(at), **FINDING}, clock.now() + timedelta(days=8)
    monkeypatch.setattr(clock, "now", lambda: later)
    stranger.send(at, form)
    assert held(app) == []


@pytest.mark.parametrize("path", ["/people", "/people/1", "/people/me", "/shop", "/safety-profiles"])
def test_people_shop_and_limits_are_never_kept(app: Flask, owner: PageClient, stranger: PageClient, cast: Cast, path: str) -> None:
    page = owner.get(path)
    forms = [(one.get("action", ""), values(one)) for one in page.all("form", method="post") if one.get("action") != "/theme"]
    for action, fields in forms:
        typed = {**fields, "name": "Thief", "password": "copper kettle on a stove", "new_pin": "740592", "now_password": PASSWORD}
        if action == "/people/switch":
            continue
        stranger.client.post(action, data=typed)
        owner.client.post(action, data={**typed, "page_token": "0" * 64})
    second = PageClient(app).sign_in(cast.owner)
    for action, fields in forms:
        if action != "/people/switch":
            answer = second.client.post(action, data={**fields, "name": "Thief"})  # of this person's other sign-in
            assert answer.status_code == 403, action
    assert held(app) == []


def test_no_secret_is_ever_kept_with_a_form() -> None:
    app_files = Path(needs.__file__).parents[1].rglob("*.py")
    secret = {name for path in app_files for name in re.findall(r"(\w+) = PasswordField\(", path.read_text())}
    assert len(secret) >= 6 and secret <= SECRET_FIELDS


def has_control(form: Xml.Element) -> bool:
    kinds = {element.get("type", "text") for element in form.iter(HTML + "input")} - {"hidden", "submit"}
    return bool(kinds) or any(True for name in ("select", "textarea") for _ in form.iter(HTML + name))


def presses(form: Xml.Element) -> list[dict[str, Any]]:
    """What each of its buttons sends."""
    buttons = list(form.iter(HTML + "button"))
    return [values(form) | ({one.get("name", ""): one.get("value", "")} if one.get("name") else {}) for one in buttons]


def test_no_button_of_the_filled_shop_is_kept_to_be_pressed_later(whole_shop: WholeShop,
                                                                  tmp_path_factory: pytest.TempPathFactory) -> None:
    data = whole_shop.copied(tmp_path_factory.mktemp("pressed") / "shop")
    with opened(data) as app:
        owner = PageClient(app).sign_in(somebody(app, Role.OWNER))
        walk = Walk(app, owner.client, of_each=4, escaping=False)
        walk.everywhere()
        before = len(held(app))
        end_all(app)
        pressed = 0
        for _, form in walk.forms.values():
            if form.get("method") == "post" and not has_control(form):
                for fields in presses(form):
                    answer = PageClient(app).client.post(form.get("action", ""), data=fields)
                    assert answer.status_code == 303, form.get("action")
                    pressed += 1
        assert pressed >= 8 and len(held(app)) == before


ORIGINS = [
    ({"Origin": "http://localhost"}, True), ({"Origin": "HTTP://LocalHost"}, True), ({"Origin": "https://localhost"}, False),
    ({"Origin": "http://localhost:8080"}, False), ({"Origin": "http://localhost.example"}, False), ({"Origin": "null"}, False),
    ({"Origin": "http://localhost", "Sec-Fetch-Site": "cross-site"}, True),  # Origin is what is asked first
    ({"Origin": "http://elsewhere.example", "Sec-Fetch-Site": "same-origin"}, False),
    ({"Sec-Fetch-Site": "same-origin"}, True), ({"Sec-Fetch-Site": "same-site"}, False), ({"Sec-Fetch-Site": "cross-site"}, False),
    ({"Sec-Fetch-Site": "none"}, False), ({"Referer": "http://localhost/orders/1"}, True),
    ({"Referer": "http://localhost@elsewhere.example/"}, False), ({"Referer": "http://elsewhere.example/?localhost"}, False),
    ({}, True)]


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
@pytest.mark.parametrize(("headers", "ours"), ORIGINS, ids=[" ".join(one) + f" {n}" for n, (one, _) in enumerate(ORIGINS)])
def test_what_another_site_sends_is_refused_by_any_method(technician: PageClient, method: str, headers: dict[str, str],
                                                          ours: bool) -> None:
    """OWASP, Cross-Site Request Forgery Prevention: verify origin with standard headers (from memory); Fetch Metadata (W3C)."""
    answer = technician.client.open("/theme", method=method, data={**technician.token(), "theme": "dark"}, headers=headers)
    if method == "POST":
        assert (answer.status_code == 303) == ours
    assert (answer.status_code == 403) == (not ours)
    if not ours:
        assert "did not come from this page" in Page(answer).words


def test_sign_out_by_another_site_is_refused(app: Flask, technician: PageClient) -> None:
    answer = technician.client.post("/people/switch", data=technician.token(), headers={"Origin": "http://elsewhere.example"})
    assert answer.status_code == 403 and technician.client.get("/").status_code == 200
    assert technician.client.get_cookie(SIGN_IN_COOKIE)
