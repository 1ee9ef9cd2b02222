"""Originals without location: the same picture, nothing beside it; and what of it the journal keeps."""

from __future__ import annotations

import io

import pytest
import sqlalchemy as sa
from flask import Flask
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from app.backup.verify import verify
from app.db import session, transaction
from app.errors import BadInput
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.photos import service
from app.photos.location import is_located, without_location
from app.photos.models import Photo
from app.photos.prepare import prepare
from app.photos.store import the_store
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY
from tests.photos.make import photo_bytes, upload

KINDS = ("JPEG", "PNG", "WEBP", "HEIF")
XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf exif:GPSLatitude="33,52.16S"/></x:xmpmeta>'


def pixels(data: bytes) -> Image.Image:
    with Image.open(io.BytesIO(data)) as opened:
        return opened.convert("RGB")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("orientation", [1, 6])
def test_the_picture_stays_and_the_place_goes(kind: str, orientation: int) -> None:
    """Read back by the reference decoder (Pillow)."""
    before = photo_bytes(kind, orientation=orientation, gps=True, taken="2026:03:02 09:30:00")
    after = without_location(before)
    assert is_located(before) and not is_located(after)
    assert ImageChops.difference(pixels(before), pixels(after)).getbbox() is None
    with Image.open(io.BytesIO(before)) as one, Image.open(io.BytesIO(after)) as other:
        assert one.getexif().get(0x0112, 1) == other.getexif().get(0x0112, 1)  # which way is up, EXIF 2.32
        assert other.getexif().get_ifd(0x8769).get(0x9003) == "2026:03:02 09:30:00"
        assert 0x010F not in other.getexif()  # the camera's maker
    assert without_location(after) == after or kind == "HEIF"
    assert b"Kestermark" not in after


@pytest.mark.parametrize("kind", KINDS)
def test_a_photo_without_notes_stays_one(kind: str) -> None:
    out = io.BytesIO()
    pixels(photo_bytes()).save(out, kind)
    after = without_location(out.getvalue())
    assert not is_located(after) and pixels(after).size == (64, 48)


def test_xmp_and_a_second_picture_behind_the_first_go() -> None:
    first = photo_bytes(gps=True)
    body = b"http://ns.adobe.com/xap/1.0/\0" + XMP
    noted = first[:2] + b"\xff\xe1" + (len(body) + 2).to_bytes(2, "big") + body + first[2:] + photo_bytes(gps=True) + b"<script>"
    assert is_located(noted)
    after = without_location(noted)
    assert b"GPS" not in after and b"xmpmeta" not in after and b"script" not in after and after.count(b"\xff\xd8\xff") == 1


def test_progressive_jpeg_with_restarts_is_walked_through() -> None:
    out = io.BytesIO()
    with Image.open(io.BytesIO(photo_bytes(gps=True))) as told:
        large = pixels(photo_bytes()).resize((400, 300))
        large.save(out, "JPEG", progressive=True, exif=told.info["exif"], restart_marker_blocks=4)
    after = without_location(out.getvalue())
    assert ImageChops.difference(pixels(out.getvalue()), pixels(after)).getbbox() is None and not is_located(after)


@settings(max_examples=60)
@given(kind=st.sampled_from(KINDS), data=st.data())
def test_damage_is_refused_in_words_never_worse(kind: str, data: st.DataObject) -> None:
    body = bytearray(photo_bytes(kind, gps=True))
    for _ in range(data.draw(st.integers(1, 4))):
        body[data.draw(st.integers(12, len(body) - 1))] = data.draw(st.integers(0, 255))
    try:
        assert not is_located(without_location(bytes(body)))
    except BadInput as refused:
        assert "location" in refused.words.lower()


def an_original(app: Flask) -> int:
    with app.app_context():
        made = prepare(upload(photo_bytes(gps=True)))
        with transaction() as current:
            photo = service.add(factories.order(), made, place="front", by=BY, now=NOW)
            current.flush()
            return photo.id


def test_shop_s_choice_at_the_upload(app: Flask) -> None:
    with app.app_context():
        whole = prepare(upload(photo_bytes(gps=True)))
        assert is_located(the_store().get(whole.sha256)) and not whole.without_location
        for copy in (whole.web_sha256, whole.thumb_sha256):  # copies never carry anything, whatever the shop chose
            with Image.open(io.BytesIO(the_store().get(copy))) as opened:
                assert not opened.getexif() and not is_located(the_store().get(copy))
        with transaction():
            the_shop().strip_location = True
        bare = prepare(upload(photo_bytes(gps=True)))
        assert not is_located(the_store().get(bare.sha256)) and bare.without_location
        assert (bare.web_sha256, bare.taken) == (whole.web_sha256, whole.taken)


def test_photos_of_before_are_cleaned_and_the_journal_says_by_what(app: Flask, owner: PageClient) -> None:
    photo_id = an_original(app)
    with app.app_context():
        old = session().get_one(Photo, photo_id).sha256
    page = owner.post("/personal-data/locations")
    assert "1 original without location" in page.words and "No original tells a place" in page.words
    with app.app_context():
        photo = session().get_one(Photo, photo_id)
        assert photo.sha256 != old and not the_store().has(old) and not is_located(the_store().get(photo.sha256))
        told = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == Event.PHOTO_LOCATION_REMOVED.value)).one()
        assert old in told.before and photo.sha256 in told.after and "replaced by" in told.reason
        assert verify().troubles == ()


def test_one_that_cannot_be_cleaned_is_named_and_stops_no_other(app: Flask, owner: PageClient) -> None:
    photo_id = an_original(app)
    with app.app_context():
        the_store().remove(session().get_one(Photo, photo_id).sha256)
    page = owner.post("/personal-data/locations")
    assert f"Photo {photo_id}: The file of this record is not in the store" in page.words and "1 photo not cleaned" in page.words
    assert "Try these again" in page.words


def test_an_avif_loses_its_place_or_is_refused_in_words() -> None:
    """A turned one is refused: its decoder tells the notes otherwise than they lie in the file."""
    upright = photo_bytes("AVIF", gps=True)
    assert is_located(upright) and not is_located(without_location(upright))
    with pytest.raises(BadInput, match="Set the camera to JPEG"):
        without_location(photo_bytes("AVIF", gps=True, orientation=6))
