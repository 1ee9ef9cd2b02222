"""Drawings of a model: kept once, found however the model is spelt, with pins, withdrawn and never removed.

What a whole and an encrypted PDF look like is from ISO 32000-1, 7.5.5 (file trailer) and 7.6.1 (Encrypt), from memory.
"""

from __future__ import annotations

import hashlib

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.drawings import queries, service
from app.drawings.models import Drawing, DrawingPin
from app.drawings.prepare import take
from app.drawings.spec import DrawingFacts
from app.errors import BadInput, RuleBroken
from app.photos.store import the_store
from tests import factories
from tests.bench.make import counted
from tests.drawings.make import drawing, pdf, picture, upload
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY

WORDS = {"maker": "Tarnholt", "model": "Meridian 30", "title": "Preamp, sheet 1", "kind": "schematic", "source": "drawn here"}


def added(app: Flask, data: bytes | None = None) -> int:
    with app.app_context(), transaction():
        made = drawing(data=data)
        session().flush()
        return made.id


def drawings(app: Flask) -> list[Drawing]:
    with app.app_context():
        return list(session().scalars(sa.select(Drawing).order_by(Drawing.id)))


def test_the_same_picture_twice_is_one_file(app: Flask, technician: PageClient) -> None:
    for title in ("Preamp, sheet 1", "Preamp again"):
        technician.post("/drawings/new", {**WORDS, "title": title, "file": (picture(), "preamp.png")})
    first, second = drawings(app)
    assert first.sha256 == second.sha256 == hashlib.sha256(picture()).hexdigest()
    with app.app_context():
        assert len(list(the_store().all())) == 3  # the picture and its two copies
        assert the_store().get(first.sha256) == picture()


@pytest.mark.parametrize(("maker", "model", "same"), [
    ("TARNHOLT", "meridian-30", True), ("Tarn-Holt", "Meridian 30", True), ("Tarnhold", "Meridian 30", True),
    ("Tarnholt", "Meridian 50", False), ("Marlspar", "No. 4", False)])
def test_every_spelling_of_the_model_shows_it(app: Flask, technician: PageClient, maker: str, model: str, same: bool) -> None:
    added(app)
    with app.app_context(), transaction():
        order = factories.order(amp=factories.amp(maker, model))
        at = next(rule.rule for rule in app.url_map.iter_rules() if rule.endpoint == "intake.amp_record")
        paths = at.replace("<int:amp_id>", str(order.amp_id)), f"/orders/{order.id}"
    for path in paths:
        assert ("/drawings/1" in technician.get(path).links()) is same, path


@pytest.mark.parametrize(("data", "name", "words"), [
    (b"<html><script>alert(1)</script>%PDF-1.7", "preamp.pdf", "It is called .pdf and is none."),
    (pdf(end=b""), "preamp.pdf", "The PDF is incomplete."),
    (pdf(trailer=b"/Encrypt 9 0 R "), "preamp.pdf", "The PDF asks for a password."),
    (b"<svg/>", "preamp.svg", "That is neither a picture nor a PDF."),
    (picture()[:-60], "preamp.png", "The photo is incomplete."),
    (b"", "preamp.png", "The file is empty.")])
def test_what_is_no_drawing_is_refused_in_words_and_what_was_typed_stays(
        app: Flask, technician: PageClient, data: bytes, name: str, words: str) -> None:
    page = technician.post("/drawings/new", {**WORDS, "file": (data, name)})
    assert page.title.startswith("Error:") and f"{name}: {words}" in page.words
    fields = page.fields("/drawings/new")
    assert {field: fields[field] for field in WORDS} == WORDS and "is kept: " not in page.words
    assert drawings(app) == []


def test_a_good_file_is_kept_while_the_title_is_entered(app: Flask, technician: PageClient) -> None:
    page = technician.post("/drawings/new", {**WORDS, "title": "", "file": (pdf(), "layout.pdf")})
    assert "Enter a title" in page.words and "1 file is kept: layout.pdf." in page.words
    technician.send("/drawings/new", {**page.fields("/drawings/new"), "title": "Layout"})
    (kept,) = drawings(app)
    assert kept.is_pdf and kept.title == "Layout"


def test_more_than_25_mb_of_pdf_is_refused(app: Flask) -> None:
    with app.app_context(), pytest.raises(BadInput, match="larger than 25 MB"):
        take(upload(pdf() + b" " * 25 * 1024 * 1024, "big.pdf"))


def test_a_pdf_opens_in_the_browser_s_viewer_and_runs_nothing_here(app: Flask, technician: PageClient) -> None:
    made = added(app, data=pdf())
    page = technician.get(f"/drawings/{made}")
    assert "opens in the browser’s own viewer" in page.words and f"/drawings/{made}/full" in page.links()
    answer = technician.client.get(f"/drawings/{made}/full")
    assert answer.data == pdf() and answer.mimetype == "application/pdf"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "script-src 'none'" in answer.headers["Content-Security-Policy"]
    saved = technician.client.get(f"/drawings/{made}/full?save=1")
    assert saved.headers["Content-Disposition"] == f'attachment; filename="drawing-{made}.pdf"'
    with app.app_context(), pytest.raises(RuleBroken, match="A pin lies on a picture"), transaction():
        service.add_pin(session().get_one(Drawing, made), "no", 0.5, 0.5, by=BY, now=NOW)


def test_the_picture_as_it_came_is_for_the_bench(app: Flask, technician: PageClient, counter: PageClient) -> None:
    """It may tell a place, as an original photo may."""
    made = added(app)
    assert technician.client.get(f"/drawings/{made}/full").data == picture()
    assert counter.client.get(f"/drawings/{made}/full").status_code == 403
    assert counter.client.get(f"/drawings/{made}/web").mimetype == "image/jpeg"
    assert f"/drawings/{made}/full" not in counter.get(f"/drawings/{made}").links()


def test_a_withdrawn_drawing_is_not_offered_and_stays(app: Flask, technician: PageClient) -> None:
    made = added(app)
    page = technician.get(f"/drawings/{made}/withdraw")
    technician.send(f"/drawings/{made}/withdraw", {**page.fields(), "reason": "of the later edition"})
    with app.app_context():
        assert list(queries.of_model("Tarnholt", "Meridian 30")) == []
    assert "of the later edition" in technician.get("/drawings").words  # among those withdrawn
    page = technician.get(f"/drawings/{made}")
    assert "Withdrawn by Ines" in page.words and technician.client.get(f"/drawings/{made}/web").status_code == 200
    with app.app_context(), pytest.raises(RuleBroken, match="withdrawn"), transaction():
        service.change_drawing(session().get_one(Drawing, made), DrawingFacts("a", "b", "c"), by=BY, now=NOW)


def test_words_are_changed_with_what_stood_before(app: Flask, technician: PageClient) -> None:
    made = added(app)
    page = technician.get(f"/drawings/{made}/edit")
    technician.send(f"/drawings/{made}/edit", {**page.fields(), "title": "Preamp, sheet 1", "source": "owner’s copy"})
    assert drawings(app)[0].title == "Preamp, sheet 1"
    told = technician.get(f"/history/drawing/{made}").words
    assert "Preamp, sheet 1" in told and "owner’s copy" in told and "drawn here" in told


def test_pins_are_numbered_listed_and_withdrawn(app: Flask, technician: PageClient) -> None:
    made = added(app)
    here = f"/drawings/{made}"
    for note, across in (("hum enters here", "25"), ("120k in most", "75.5")):
        technician.send(here, {**technician.get(here).fields(here), "note": note, "across": across, "down": "50"})
    with app.app_context():
        assert [(one.number, one.x, one.y) for one in session().scalars(sa.select(DrawingPin))] == [(1, 0.25, 0.5), (2, 0.755, 0.5)]
    away = f"{here}/pins/1/withdraw"
    technician.send(away, technician.get(here).fields(away))
    page = technician.get(here)
    assert "hum enters here" not in page.words and "120k in most" in page.words
    technician.send(here, {**page.fields(here), "note": "a third", "across": "1", "down": "2"})
    with app.app_context():
        assert [one.number for one in session().get_one(Drawing, made).pins_shown] == [2, 3]  # a number stays its own


@pytest.mark.parametrize(("typed", "words"), [({"across": "101"}, "0 to 100 per cent"), ({"down": ""}, "Tap the drawing"),
                                              ({"note": ""}, "Enter what the pin says.")])
def test_a_pin_off_the_drawing_is_refused(app: Flask, technician: PageClient, typed: dict[str, str], words: str) -> None:
    here = f"/drawings/{added(app)}"
    page = technician.send(here, {**technician.get(here).fields(here), "note": "here", "across": "5", "down": "5", **typed},
                           status=200)
    assert words in page.words


def test_full_drawing_page_asks_as_little_with_thirty_pins(app: Flask, technician: PageClient) -> None:
    made = added(app)
    with app.app_context(), transaction():
        for at in range(30):
            service.add_pin(session().get_one(Drawing, made), f"note {at}", at / 30, 0.5, by=BY, now=NOW)
    with counted(app) as statements:
        assert technician.client.get(f"/drawings/{made}").status_code == 200
    assert len(statements) <= 20
