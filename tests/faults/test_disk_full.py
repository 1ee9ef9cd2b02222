"""A disk that is full or can only be read: what is there is shown and printed, a save says so and keeps what was typed.

`trust` F11, F12 and F14 of our own fault list; errno values are those of errno(3): ENOSPC, EDQUOT, EROFS, EIO.
"""

from __future__ import annotations

import errno
import http.client
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from flask import Flask
from sqlalchemy.exc import InternalError, OperationalError

from app import clock, config
from app.access import service as access
from app.access.models import Person
from app.db import session, transaction
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.orders.models import RepairOrder
from app.photos.store import FolderStore
from tests import factories
from tests.commands.served import free_port, serving
from tests.conftest import configure, working_on
from tests.factories import NOW
from tests.faults.disks import fill, remount, small_disk
from tests.pages import PageClient
from tests.people import BY, Cast
from tests.photos.make import photo_bytes

pytestmark = pytest.mark.fault
TYPED = "the left channel hums when it is warm"


def issued(order_id: int) -> int:
    """A paper of this order, issued."""
    order = session().get_one(RepairOrder, order_id)
    made = make(order, paper(order, Kind.RECEIPT), now=NOW, as_page=True)
    with transaction() as current:
        return documents.issue(current.get_one(RepairOrder, order_id), made, by=BY, now=NOW).id


class Bench:
    """A shop with an order, a photo and an issued paper, and its owner at a browser."""

    def __init__(self, app: Flask, cast: Cast) -> None:
        self.owner = PageClient(app).sign_in(cast.owner)
        with app.app_context():
            with transaction():
                self.order_id = factories.order().id
            self.paper_id = issued(self.order_id)
        self.owner.post(f"/orders/{self.order_id}/photos", {"place": "front", "photos": photo_bytes()})

    def reads(self) -> None:
        """All that is there can be read, the paper as it was issued too."""
        for path in ("/", f"/orders/{self.order_id}", f"/orders/{self.order_id}/photos", "/photos/1", f"/papers/{self.paper_id}",
                     f"/orders/{self.order_id}/papers/receipt", "/search?q=amp", "/history", "/shop"):
            if self.owner.client.get(path).status_code != 404:
                self.owner.get(path)
        assert self.owner.client.get(f"/papers/{self.paper_id}/file").status_code == 200
        assert self.owner.client.get("/photos/1/web").status_code == 200


@pytest.fixture
def bench(app: Flask, cast: Cast) -> Bench:
    return Bench(app, cast)


@pytest.mark.parametrize(("number", "words"), [
    (errno.ENOSPC, "The disk is full"), (errno.EDQUOT, "The disk is full"), (errno.EROFS, "can only be read"),
    (errno.EIO, "The disk does not work")])
def test_a_file_that_cannot_be_written_is_said_and_what_was_typed_stays(
        bench: Bench, monkeypatch: pytest.MonkeyPatch, number: int, words: str) -> None:
    """Planted, so that it runs everywhere: a paper's bytes cannot be stored, outside of what says so by itself."""
    def refuse(_store: FolderStore, _data: bytes) -> str:
        raise OSError(number, os.strerror(number), "a file")

    monkeypatch.setattr(FolderStore, "put", refuse)
    path = f"/orders/{bench.order_id}/papers/report"
    page = bench.owner.send(path, {**bench.owner.token(), "as_page": "yes"}, status=503)
    assert words in page.words and "nothing was saved" in page.words.lower() and "Something broke" not in page.words
    bench.reads()


@pytest.mark.parametrize(("wrong", "words"), [
    (OperationalError("COMMIT", {}, Exception("database or disk is full")), "The disk is full"),
    (OperationalError("COMMIT", {}, Exception('could not extend file "base/5": No space left on device')), "The disk is full"),
    (OperationalError("COMMIT", {}, Exception("attempt to write a readonly database")), "can only be read"),
    (OperationalError("COMMIT", {}, Exception("disk I/O error")), "The disk does not work"),
    (InternalError("INSERT", {}, Exception("cannot execute INSERT in a read-only transaction")), "can only be read")])
def test_a_database_that_cannot_be_written_is_said_and_what_was_typed_stays(
        bench: Bench, monkeypatch: pytest.MonkeyPatch, wrong: Exception, words: str) -> None:
    from sqlalchemy.orm import Session

    form = {**bench.owner.get("/shop").fields("/shop"), "phone": "555 0177"}

    def refuse(_current: Session) -> None:
        raise wrong

    monkeypatch.setattr(Session, "commit", refuse)
    page = bench.owner.send("/shop", form, status=503)
    assert words in page.words and "nothing was saved" in page.words and "555 0177" in page.words
    bench.reads()
    monkeypatch.undo()
    bench.owner.send("/shop", page.fields("/shop"))
    assert bench.owner.get("/shop").fields("/shop")["phone"] == "555 0177"


@pytest.fixture
def on_disk(bare_app: Flask, tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Iterator[tuple[Flask, Path, Cast]]:
    """A shop on a small disk of its own."""
    with small_disk(tmp_path / "disk", 12) as disk:
        shutil.copy(sqlite_templates[1], disk / "tagstrip.db")
        with working_on(bare_app, configure(disk, f"sqlite:///{disk / 'tagstrip.db'}")):
            yield bare_app, disk, sqlite_templates[2]


def test_a_full_disk(on_disk: tuple[Flask, Path, Cast]) -> None:
    app, disk, cast = on_disk
    bench = Bench(app, cast)
    form = {**bench.owner.get("/shop").fields("/shop"), "address": TYPED}
    filler = fill(disk)
    page = bench.owner.send("/shop", form, status=503)
    assert "The disk is full" in page.words and TYPED in page.words
    sent = {**bench.owner.token(), "place": "back", "caption": TYPED, "photos": photo_bytes()}
    refused = bench.owner.send(f"/orders/{bench.order_id}/photos", sent, status=503)
    assert "The disk is full" in refused.words and TYPED in refused.words
    assert list((disk / "photos").rglob(".part-*")) == [] and all(one.stat().st_size for one in (disk / "photos").glob("??/*"))
    bench.reads()
    health = bench.owner.client.get("/healthz")
    assert health.status_code in (200, 503) and health.json is not None and health.json["database"] == "ok"
    filler.unlink()  # there is room again: no restart
    bench.owner.send("/shop", page.fields("/shop"))
    assert bench.owner.get("/shop").fields("/shop")["address"] == TYPED


def test_a_disk_that_becomes_read_only(on_disk: tuple[Flask, Path, Cast]) -> None:
    app, disk, cast = on_disk
    bench = Bench(app, cast)
    form = {**bench.owner.get("/shop").fields("/shop"), "phone": "555 0177"}
    app.extensions["tagstrip_db"].close()  # with a file open to be written no disk can be remounted
    remount(disk, "ro")
    page = bench.owner.send("/shop", form, status=503)
    assert "can only be read" in page.words and "555 0177" in page.words
    bench.reads()
    health = bench.owner.client.get("/healthz")
    assert health.status_code == 503 and "Read-only" in health.json["photos"]  # type: ignore[index]
    remount(disk, "rw")
    bench.owner.send("/shop", page.fields("/shop"))
    assert bench.owner.get("/shop").fields("/shop")["phone"] == "555 0177"


def test_a_read_only_folder_is_served_for_reading(on_disk: tuple[Flask, Path, Cast]) -> None:
    app, disk, cast = on_disk
    bench = Bench(app, cast)
    with app.app_context(), transaction():
        person = session().get_one(Person, cast.owner.id)
        access.set_password(person, "copper kettle on a slow stove", by=BY, now=clock.now())
    app.extensions["tagstrip_db"].close()
    config.load(disk)
    before = {path: path.read_bytes() for path in disk.rglob("*") if path.is_file()}
    remount(disk, "ro")
    port = free_port()
    with serving(disk, port) as process:
        visit = Visit(port)
        page = visit.ask("/people/sign-in")
        assert "can only be read" in page
        visit.ask("/people/sign-in", {"name": cast.owner.name, "password": "copper kettle on a slow stove",
                                      "page_token": token_on(page)})
        for path in ("/", f"/orders/{bench.order_id}", f"/papers/{bench.paper_id}", "/shop"):
            page = visit.ask(path)
            assert visit.status == 200 and "can only be read" in page, path
        assert visit.ask(f"/papers/{bench.paper_id}/file") and visit.status == 200
        page = visit.ask("/shop", {"phone": "555 0177", "page_token": token_on(page), "once": "a" * 32})
        assert visit.status == 503 and "can only be read" in page and "555 0177" in page
        assert "555 0177" not in visit.ask("/shop")
        process.terminate()
        said = process.communicate(timeout=30)[0]
    assert "can only be read" in said
    assert {path: path.read_bytes() for path in disk.rglob("*") if path.is_file()} == before
    assert not list(Path("/tmp").glob("tagstrip-reading-*")), "the copy that it read from is gone"  # noqa: S108


class Visit:
    """Just enough of a browser: cookies, one redirect."""

    def __init__(self, port: int) -> None:
        self.port, self.cookies, self.status = port, dict[str, str](), 0

    def ask(self, path: str, form: dict[str, str] | None = None) -> str:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()),
                   "Content-Type": "application/x-www-form-urlencoded"}
        connection.request("POST" if form else "GET", path, urlencode(form) if form else None, headers)
        answer = connection.getresponse()
        self.status, text = answer.status, answer.read().decode("utf-8", "replace")
        for given in answer.headers.get_all("Set-Cookie") or ():
            name, value = re.match(r"([^=]+)=([^;]*)", given).groups()  # type: ignore[union-attr]
            self.cookies[name] = value
        connection.close()
        return text


def token_on(page: str) -> str:
    return re.findall(r'name="page_token" value="([^"]+)"', page)[-1]
