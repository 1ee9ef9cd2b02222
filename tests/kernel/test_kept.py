"""What was uploaded with a form that comes back goes along with the next try: for its sender, once, within bounds."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from werkzeug.datastructures import FileStorage

from app import clock
from app.db import session, transaction
from app.kernel import upload_holding as shelf
from app.kernel.models import HeldPost
from app.kernel.upload_holding import Room
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from app.photos import queries
from tests import factories
from tests.conftest import NOW
from tests.pages import PageClient
from tests.people import Cast
from tests.photos.make import photo_bytes

FINDING = {"origin": "wear", "disposition": "replace_like", "observation": "Bulged can on the reservoir"}


@pytest.fixture
def at(app: Flask) -> str:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.TEARDOWN
        return f"/orders/{order.id}/findings/new"


def two() -> list[Any]:
    return [(photo_bytes(), "a.jpg"), (photo_bytes("PNG"), "b.png")]


def count(app: Flask) -> int:
    with app.app_context():
        return len(list(queries.of_order(1)))


def end(app: Flask, how: End | None) -> None:
    with app.app_context(), transaction():
        order = session().get_one(RepairOrder, 1)
        order.ended_as, order.ended_at = how, NOW if how else None


def test_photos_of_a_finding_without_its_text_are_kept_and_count_once(app: Flask, technician: PageClient, at: str) -> None:
    page = technician.post(at, {**FINDING, "observation": "", "photos": two()})
    assert page.title.startswith("Error: ") and "2 photos are kept: a.jpg, b.png." in page.words and count(app) == 0
    again = technician.send(at, {**page.fields(at), "photos": (photo_bytes("WEBP"), "c.webp")})
    assert "3 photos are kept: c.webp, a.jpg, b.png." in again.words
    sent = {**again.fields(at), **FINDING, "photos": (photo_bytes(), "a.jpg")}  # picked once more
    technician.send(at, sent)
    assert count(app) == 3
    technician.send(at, {**sent, "photos": (photo_bytes(), "a.jpg")})
    assert count(app) == 3


def test_a_kept_photo_can_be_left_out(app: Flask, technician: PageClient, at: str) -> None:
    page = technician.post(at, {**FINDING, "observation": "", "photos": two()})
    box = page.all("input", name="leave_out")[0]
    technician.send(at, {**page.fields(at), **FINDING, "leave_out": box.get("value")})
    assert count(app) == 1


def test_what_was_saved_is_not_saved_again_from_another_page(app: Flask, technician: PageClient, at: str) -> None:
    page = technician.post(at, {**FINDING, "observation": "", "photos": two()})
    technician.send(at, {**page.fields(at), **FINDING})
    said = technician.post(at, {**FINDING, "kept_files": page.fields(at)["kept_files"]})
    assert "were saved already" in said.words and count(app) == 2


def test_nobody_else_can_use_the_reference(app: Flask, technician: PageClient, owner: PageClient, at: str) -> None:
    page = technician.post(at, {**FINDING, "observation": "", "photos": two()})
    said = owner.post(at, {**FINDING, "kept_files": page.fields(at)["kept_files"]})
    assert "not there any more" in said.words and count(app) == 0
    technician.send(at, {**page.fields(at), **FINDING})
    assert count(app) == 2


@pytest.mark.parametrize("wrong", ["x", "../../tagstrip.db", "A" * 32])
def test_a_wrong_reference_is_passed_over_in_words(app: Flask, technician: PageClient, at: str, wrong: str) -> None:
    page = technician.post(at, {**FINDING, "observation": "", "kept_files": wrong})
    assert "not there any more" in page.words and "kept_files" not in page.fields(at)


def test_a_page_somebody_came_before_keeps_its_photos(app: Flask, technician: PageClient, owner: PageClient, at: str) -> None:
    technician.post(at, FINDING)
    edit = at.replace("new", "1")
    mine = {**technician.get(edit).fields(edit), "observation": "Bulged and leaking", "photos": two()}
    owner.post(edit, {"observation": "Bulged, and dry"})
    page = technician.send(edit, mine, status=409)
    assert "2 photos are kept" in page.words
    stands = next(link for link in page.links() if link.startswith(edit))
    assert "2 photos are kept" in technician.get(stands).words
    technician.send(edit, page.fields(edit))
    assert count(app) == 2


def test_what_is_no_photo_is_not_kept(technician: PageClient, at: str) -> None:
    page = technician.post(at, {**FINDING, "photos": (b"words", "letter.jpg")})
    assert "letter.jpg" in page.words and "kept" not in page.words


@pytest.mark.parametrize("path", ["photos", "intake/condition", "removals/new", "removals/found"])
def test_every_form_with_files_keeps_them(app: Flask, technician: PageClient, at: str, path: str) -> None:
    wrong = {"phase": "nonsense", "zone": "nonsense", "kind": "nonsense", "piece": "x" * 999}
    page = technician.post(f"/orders/1/{path}", {**wrong, "photos": two()})
    assert "2 photos are kept: a.jpg, b.png." in page.words


def test_files_of_a_held_form_that_comes_back_are_kept_too(app: Flask, technician: PageClient, cast: Cast, at: str) -> None:
    old = {**technician.get(at).fields(at), **FINDING, "observation": "", "photos": two()}
    technician.sign_in(cast.technician)  # once more: the page is of the sign-in before
    held = technician.send(at, old)
    assert "Not saved yet" in held.title and "a.jpg" in held.words
    page = technician.send(at, held.fields(at))
    assert "2 photos are kept: a.jpg, b.png." in page.words
    technician.send(at, {**page.fields(at), **FINDING})
    assert count(app) == 2


def test_a_refusal_without_the_form_shows_and_keeps_what_was_entered(app: Flask, technician: PageClient, at: str) -> None:
    """The order came to its end while the finding was written; then it is taken up again."""
    form = {**technician.get(at).fields(at), **FINDING, "photos": two()}
    end(app, End.UNCOLLECTED)
    refused = technician.send(at, form, status=409)
    assert "Bulged can on the reservoir" in refused.words and "2 photos are kept: a.jpg, b.png." in refused.words
    assert "page token" not in refused.words and count(app) == 0
    end(app, None)
    technician.send(at, refused.fields(at))
    assert count(app) == 2


def test_a_refused_removal_shows_its_tag(app: Flask, technician: PageClient, at: str) -> None:
    form = {**technician.get("/orders/1/removals/new").fields("/orders/1/removals/new"), "mark": "P7", "kind": "control"}
    end(app, End.UNCOLLECTED)
    assert "Mark P7" in technician.send("/orders/1/removals/new", form, status=409).words


def test_kept_files_go_after_seven_days(app: Flask, technician: PageClient, at: str) -> None:
    page = technician.post(at, {**FINDING, "observation": "", "photos": two()})
    with app.app_context():
        later = clock.now() + timedelta(days=7, seconds=1)
        assert shelf.find(page.fields(at)["kept_files"], later) is None
        shelf.put("person 1", "/", [], later)
        assert len(shelf.standing_ids()) == 1


def upload(size: int, name: str = "a.jpg") -> tuple[str, FileStorage]:
    return "photos", FileStorage(io.BytesIO(bytes(size)), name)


def test_each_has_room_and_nobody_signed_in_gives_way_to_another(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shelf, "ONE_PERSON", Room(forms=3, files=4, size=200))
    monkeypatch.setattr(shelf, "ALL", Room(forms=50, files=50, size=400))
    with app.app_context():
        before = shelf.put("address 10.0.0.1", "/", [upload(90)], NOW)  # as an earlier version kept it
        made = [shelf.put("person 1", "/", [upload(90)], NOW + timedelta(seconds=n)) for n in range(3)]
        assert shelf.standing_ids() == {before.id, made[1].id, made[2].id}  # its own oldest went first
        other = shelf.put("person 2", "/", [upload(190)], NOW + timedelta(minutes=1))
        assert shelf.standing_ids() == {made[1].id, made[2].id, other.id}
        full = shelf.put("person 3", "/", [upload(150)], NOW + timedelta(minutes=2))
        assert not full.files[0].file and {made[1].id, made[2].id, other.id} <= shelf.standing_ids()


def test_a_held_form_says_what_there_was_no_room_for(app: Flask, technician: PageClient, cast: Cast, at: str,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shelf, "ONE_PERSON", Room(forms=2, files=1, size=10**6))
    form = {**technician.get(at).fields(at), **FINDING}
    technician.sign_in(cast.technician)
    for _ in range(4):
        assert "no room for it: b.png" in technician.send(at, {**form, "photos": two()}).words
    with app.app_context():
        assert session().query(HeldPost).count() == 1 == len(shelf.standing_ids())
