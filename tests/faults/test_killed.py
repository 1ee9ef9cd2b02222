"""kill -9 at any moment: what was acknowledged is there, the rest is whole or absent, and the next start is clean."""

from __future__ import annotations

import contextlib
import random
import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from app import clock
from app.access import service as accounts
from app.access.models import Person
from app.backup.verify import verify
from app.db import session, transaction
from app.photos import queries as photos
from tests import factories
from tests.faults.shop import Browser, Shop
from tests.people import Cast
from tests.photos.make import photo_bytes, upright

pytestmark = pytest.mark.fault
ROUNDS = 4


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return factories.order().id


@pytest.fixture
def shop(app: Flask, tmp_path: Path, furnished_url: str, order_id: int) -> Iterator[Shop]:
    (tmp_path / "secret.key").write_text(app.config["SECRET_KEY"])
    served = Shop(tmp_path, furnished_url)
    yield served
    served.kill()


def token(app: Flask, cast: Cast) -> str:
    with app.app_context(), transaction():
        person = session().get(Person, cast.counter.id)
        assert person is not None
        return accounts.open_sign_in(person, None, agent="a browser", by_password=True, now=clock.now())[1]


def kept(app: Flask, order_id: int) -> list[str]:
    """Captions of the photos that are there; verify must find nothing but files of unfinished uploads."""
    with app.app_context():
        troubles = [t for t in verify().troubles if "belong to no record" not in t]
        assert troubles == []
        return [photo.caption for photo in photos.of_order(order_id)]


def test_killed_while_photos_are_being_saved(app: Flask, shop: Shop, order_id: int, cast: Cast) -> None:
    """Rounds of posting as fast as it goes, killed at a random moment after the first; every acknowledged photo is there, once."""
    browser = Browser(shop, token(app, cast))
    picture = photo_bytes()
    acknowledged: list[str] = []
    chance = random.Random(20260302)
    for turn in range(ROUNDS):
        shop.start()
        stop = threading.Timer(chance.random() * 0.8, shop.kill)
        number = 0
        try:
            while True:
                caption = f"round {turn} photo {number}"
                form = {**browser.fields(f"/orders/{order_id}/photos"), "place": "front", "phase": "as_found",
                        "other_caption": caption, "photos": picture}
                status, said = browser.ask(f"/orders/{order_id}/photos", form)
                assert status == 303, re.findall(r"(?s)<main.*", said)[0][:1500]
                acknowledged.append(caption)
                if not number:
                    stop.start()
                number += 1
        except (ConnectionError, IndexError):
            stop.join()
        found = kept(app, order_id)
        assert [one for one in acknowledged if found.count(one) != 1] == []
    assert len(acknowledged) >= ROUNDS


def test_killed_in_the_middle_of_an_upload(app: Flask, shop: Shop, order_id: int, cast: Cast) -> None:
    """The body is still on its way: no row, no half file after the next start, and the same form can be sent again."""
    browser = Browser(shop, token(app, cast))
    shop.start()
    form = {**browser.fields(f"/orders/{order_id}/photos"), "place": "front", "phase": "as_found",
            "other_caption": "sent twice", "photos": photo_bytes(image=upright(1600, 1200))}
    shop_dies = threading.Timer(0.02, shop.kill)
    shop_dies.start()
    with contextlib.suppress(ConnectionError):
        browser.ask(f"/orders/{order_id}/photos", form)
    shop_dies.join()
    shop.start()
    assert not list((shop.data / "photos").glob(".part-*"))
    status, said = browser.ask(f"/orders/{order_id}/photos", form)
    assert status == 303, said[said.find("<main"):][:2500]
    assert kept(app, order_id).count("sent twice") == 1
