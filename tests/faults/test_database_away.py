"""PostgreSQL goes away and comes back: a page that needs no database says so, the form is kept, and all goes on by itself."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator

import pytest
import sqlalchemy as sa
from flask import Flask
from playwright.sync_api import Browser

from app.db import session, transaction
from app.kernel.models import OnceKey
from app.photos.models import Photo
from tests import factories, postgres
from tests.pages import PageClient
from tests.people import Cast
from tests.photos.make import photo_bytes
from tests.served import ready, served, sign_in
from tests.served import tablet as touch_device

pytestmark = pytest.mark.fault
TYPED = "555 0191"


class Wire:
    """A way to a PostgreSQL server that can be cut and joined again: what a restart or a pulled cable looks like from here."""

    def __init__(self, port: int) -> None:
        self.to, self.cut_now, self.open = port, False, list[socket.socket]()
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        self.cut_now = True
        for one in self.open:
            try:
                one.shutdown(socket.SHUT_RDWR)
            except OSError:
                continue
        self.open.clear()

    def join(self) -> None:
        self.cut_now = False

    def close(self) -> None:
        self.cut()
        self.listener.close()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self.listener.accept()
            except OSError:
                return
            if self.cut_now:
                near.close()
                continue
            far = socket.create_connection(("127.0.0.1", self.to))
            self.open += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=_carry, args=(one, other), daemon=True).start()


def _carry(one: socket.socket, other: socket.socket) -> None:
    try:
        while data := one.recv(65536):
            other.sendall(data)
    except OSError:
        pass
    finally:
        for each in (one, other):
            try:
                each.shutdown(socket.SHUT_RDWR)
            except OSError:
                continue
        one.close()


@pytest.fixture
def engine_name() -> str:
    """SQLite is a file: it cannot be away."""
    return "postgresql"


@pytest.fixture
def wire(postgres_server: str) -> Iterator[Wire]:
    found = Wire(int(postgres_server.rpartition(":")[2]))
    yield found
    found.close()


@pytest.fixture
def furnished_url(postgres_templates: tuple[str, Cast], wire: Wire) -> Iterator[str]:
    address, _ = postgres_templates
    name = f"away{wire.port}"
    postgres.command(address, f"CREATE DATABASE {name} TEMPLATE furnished")
    yield f"postgresql+psycopg://tagstrip@127.0.0.1:{wire.port}/{name}"
    wire.cut()
    postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")


def test_pages_say_so_and_go_on_by_themselves(owner: PageClient, wire: Wire) -> None:
    owner.get("/shop")
    wire.cut()
    for path in ("/", "/shop", "/nowhere", "/people/sign-in"):
        page = owner.get(path, status=503)
        assert "The database does not answer" in page.words and "Something broke" not in page.words, path
    health = owner.client.get("/healthz")
    assert health.status_code == 503 and health.json is not None and health.json["database"] == "does not answer"
    with owner.client.get("/static/css/base.css") as sheet:
        assert sheet.status_code == 200
    wire.join()
    assert owner.get("/shop").status == 200
    assert owner.client.get("/healthz").status_code == 200


def test_a_form_that_was_sent_meanwhile_is_shown_and_sent_again_from_there(app: Flask, owner: PageClient, wire: Wire) -> None:
    form = {**owner.get("/shop").fields("/shop"), "phone": TYPED}
    wire.cut()
    page = owner.send("/shop", form, status=503)
    assert "nothing was saved" in page.words and TYPED in page.words
    again = page.fields("/shop")
    assert (again["page_token"], again["once"]) == (form["page_token"], form["once"]), "the same form, so that it counts once"
    owner.send("/shop", again, status=503)  # still away: nothing is lost by trying
    wire.join()
    owner.send("/shop", again)
    assert owner.get("/shop").fields("/shop")["phone"] == TYPED
    with app.app_context():
        assert session().scalar(sa.select(sa.func.count()).select_from(OnceKey).where(OnceKey.key == form["once"])) == 1


def test_no_password_is_shown(stranger: PageClient, cast: Cast, wire: Wire) -> None:
    form = {**stranger.get("/people/sign-in").fields("/people/sign-in"), "name": cast.owner.name, "password": "a secret of mine"}
    wire.cut()
    assert "a secret of mine" not in stranger.send("/people/sign-in", form, status=503).text


def test_photos_that_were_sent_meanwhile_are_kept_with_the_page(app: Flask, owner: PageClient, wire: Wire) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    path = f"/orders/{order_id}/photos"
    form = {**owner.get(path).fields(path), "place": "front", "photos": photo_bytes()}
    wire.cut()
    page = owner.send(path, form, status=503)
    assert "kept with this page" in page.words
    wire.join()
    owner.send(path, page.fields(path))
    with app.app_context():
        assert session().scalar(sa.select(sa.func.count()).select_from(Photo)) == 1


def test_photos_of_somebody_unknown_are_named(app: Flask, owner: PageClient, wire: Wire) -> None:
    path = "/orders/1/photos"
    form = owner.token()
    app.extensions["tagstrip_db"].memory.clear()  # as after a restart
    wire.cut()
    page = owner.send(path, {**form, "place": "front", "photos": (photo_bytes(), "back panel.jpg")}, status=503)
    assert "Pick these files again" in page.words and "back panel.jpg" in page.words


def test_cut_in_the_middle_of_a_save_leaves_nothing_of_it(owner: PageClient, wire: Wire, monkeypatch: pytest.MonkeyPatch) -> None:
    from app.kernel import saving

    form = {**owner.get("/shop").fields("/shop"), "phone": TYPED}
    real = saving.mark_taken

    def cut(key: str) -> None:
        real(key)
        wire.cut()

    monkeypatch.setattr(saving, "mark_taken", cut)
    page = owner.send("/shop", form, status=503)
    monkeypatch.undo()
    wire.join()
    assert owner.get("/shop").fields("/shop")["phone"] != TYPED
    owner.send("/shop", page.fields("/shop"))
    assert owner.get("/shop").fields("/shop")["phone"] == TYPED


def test_what_was_typed_comes_back_in_the_browser(browser: Browser, app: Flask, cast: Cast, wire: Wire) -> None:
    with served(app) as address:
        context = touch_device(browser, address)
        sign_in(context, app, address, cast.owner.id)
        page = context.new_page()
        page.goto("/shop")
        ready(page)
        page.locator("[name=phone]").fill(TYPED)
        page.wait_for_function("() => Object.keys(localStorage).length > 0")
        wire.cut()
        page.locator("[name=phone]").press("Enter")
        page.wait_for_selector("text=The database does not answer")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert page.evaluate("getComputedStyle(document.body).fontFamily").startswith(
            ("Atkinson", '"', "'")), "the house's face: its sheets are loaded"
        page.goto("/shop", wait_until="load")
        wire.join()
        page.goto("/shop")
        ready(page)
        page.wait_for_selector("text=It is not saved yet")
        assert page.locator("[name=phone]").input_value() == TYPED
        context.close()
