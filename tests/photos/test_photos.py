"""Photos of an order: kept, shown, described, ordered, struck."""

from __future__ import annotations

import hashlib
import io

import pytest
import sqlalchemy as sa
from flask import Flask
from PIL import Image

from app.db import session, transaction
from app.photos import queries, service
from app.photos.models import Phase, Photo
from app.photos.prepare import name_of, prepare_all
from app.photos.store import the_store
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY
from tests.photos.make import photo, photo_bytes, the_order, upload


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return factories.order().id


def test_original_is_kept_byte_for_byte_and_copies_lie_beside_it(app: Flask, order_id: int) -> None:
    data = photo_bytes("HEIF", gps=True)
    with app.app_context():
        (kept,), refused = prepare_all([upload(data)])
        assert not refused
        assert kept.sha256 == hashlib.sha256(data).hexdigest() and the_store().get(kept.sha256) == data
        assert kept.media_type == "image/heic"
        for copy in (kept.web_sha256, kept.thumb_sha256):
            assert Image.open(io.BytesIO(the_store().get(copy))).format == "JPEG"


def test_good_ones_of_a_batch_are_added_and_bad_ones_named(technician: PageClient, app: Flask, order_id: int) -> None:
    page = technician.post(f"/orders/{order_id}/photos", {
        "place": "board 1", "phase": "as_found",
        "photos": [(photo_bytes(), "one.jpg"), (b"<svg/>", "cat.svg.jpg"), (photo_bytes()[:-200], "cut.png"),
                   (photo_bytes("PNG"), "../../etc/two.png")]})
    assert "2 photos added." in page.words
    assert "cat.svg.jpg: That is not a photo." in page.words and "cut.png: The photo is incomplete." in page.words
    with app.app_context():
        assert [(one.place, one.phase, one.added_by) for one in queries.of_order(order_id)] == [
            ("board 1", Phase.AS_FOUND, "Ines")] * 2


@pytest.mark.parametrize(("given", "shown"), [
    ("../../etc/passwd.jpg", "passwd.jpg"), ("C:\\pics\\amp.jpg", "amp.jpg"), ("a\u202egpj.exe", "agpj.exe"), ("x\0.jpg", "x.jpg"),
    ("", "photo"), ("n" * 300 + ".jpg", "n" * 28 + "…" + "n" * 24 + ".jpg")])
def test_names_are_shown_as_plain_short_text(given: str, shown: str) -> None:
    assert name_of(upload(b"", given)) == shown


def test_nothing_usable_is_said_beside_the_field(counter: PageClient, order_id: int) -> None:
    page = counter.post(f"/orders/{order_id}/photos", {"place": "front", "phase": "as_found", "photos": [b"<svg/>"]})
    assert page.title.startswith("Error:") and "That is not a photo" in page.words
    page = counter.post(f"/orders/{order_id}/photos", {"place": "front", "phase": "as_found"})
    assert "Take a photo or choose a file." in page.words


def test_next_photo_begins_with_the_words_of_the_last(technician: PageClient, order_id: int) -> None:
    page = technician.post(f"/orders/{order_id}/photos", {"other_place": "tag strip by the choke", "phase": "as_left",
                                                          "photos": photo_bytes()})
    fields = page.fields(f"/orders/{order_id}/photos")
    assert (fields["place"], fields["phase"]) == ("tag strip by the choke", "as_left")


def test_files_are_served_closed_in(technician: PageClient, counter: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        made = photo(the_order(order_id), data=photo_bytes("PNG", gps=True)).id
    for size, kind in (("thumb", "image/jpeg"), ("web", "image/jpeg"), ("original", "image/png")):
        answer = technician.client.get(f"/photos/{made}/{size}")
        assert answer.status_code == 200 and answer.mimetype == kind
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "sandbox" in answer.headers["Content-Security-Policy"]
        assert answer.headers["Cache-Control"] == "no-store", "Back would show it after Switch"
    assert "attachment" in technician.client.get(f"/photos/{made}/original").headers["Content-Disposition"]
    counter.get(f"/photos/{made}/original", status=403)
    assert counter.client.get(f"/photos/{made}/web").status_code == 200


def test_stranger_sees_no_photo(stranger: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        made = photo(the_order(order_id)).id
    assert stranger.get(f"/photos/{made}/web").title.startswith("Sign in")


def test_moved_by_buttons(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        first, second = (photo(the_order(order_id), caption=word).id for word in ("a", "b"))
    technician.post(f"/photos/{second}/move/earlier", form_on=f"/orders/{order_id}/photos")
    with app.app_context():
        assert [one.id for one in queries.of_order(order_id)] == [second, first]
    page = technician.get(f"/orders/{order_id}/history")
    assert "photo moved" in page.words


def test_struck_photo_is_out_of_the_row_and_still_there(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        made = photo(the_order(order_id)).id
    assert "Enter why the photo is struck." in technician.post(f"/photos/{made}/strike", {"reason": " "}).words
    page = technician.post(f"/photos/{made}/strike", {"reason": "out of focus"})
    assert "No photos yet." in page.words and "out of focus" in page.words
    assert technician.client.get(f"/photos/{made}/original").status_code == 200
    with app.app_context(), pytest.raises(sa.exc.DBAPIError), transaction():
        session().execute(sa.delete(Photo))


def test_later_save_of_words_is_told_of_the_first(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        made = photo(the_order(order_id)).id
    mine = technician.get(f"/photos/{made}").fields(f"/photos/{made}")
    technician.post(f"/photos/{made}", {"caption": "damage"})
    page = technician.send(f"/photos/{made}", {**mine, "caption": "marking"}, status=409)
    assert "This was saved after you opened the page" in page.words


def test_row_begins_with_the_stores_bytes_so_a_failed_row_leaves_no_photo(app: Flask, order_id: int) -> None:
    with app.app_context():
        (kept,), _ = prepare_all([upload(photo_bytes())])
        with pytest.raises(RuntimeError), transaction():
            service.add(the_order(order_id), kept, place="front", by=BY, now=NOW)
            raise RuntimeError("the lights went out")
        assert not queries.of_order(order_id) and the_store().has(kept.sha256)


def test_the_same_view_as_found_and_as_left_stands_side_by_side(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        order = the_order(order_id)
        found = photo(order, place="board 1", caption="left half")
        other = photo(order, place="controls").id
        like, taken = found.id, photo(order, place="board 1", caption="left half", phase=Phase.AS_LEFT).id
    page = technician.get(f"/orders/{order_id}/photos/pairs")
    link = next(link for link in page.links() if f"same_view_as={other}" in link)
    assert f"same_view_as={like}" not in page.text
    technician.post(f"/orders/{order_id}/photos", {"photos": photo_bytes("PNG")}, form_on=link)
    with app.app_context():
        assert [(pair.found and pair.found.id, pair.left and pair.left.same_view_as_id or pair.left.id)
                for pair in queries.pairs(order_id) if pair.left] == [(like, taken), (other, other)]


def test_a_caption_does_not_say_place_or_phase_twice() -> None:
    said = {("front", "Front"): "Front (as found)", ("front", "Control panel"): "front: Control panel (as found)",
            ("speaker", "Speaker as found"): "Speaker as found", ("back", ""): "back (as found)"}
    assert {key: Photo(place=key[0], caption=key[1], phase=Phase.AS_FOUND).words for key in said} == said
