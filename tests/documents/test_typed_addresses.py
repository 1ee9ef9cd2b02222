"""Typed text is never an address: what somebody writes names no photo, blocks no paper and is printed as it was written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask

from app import clock
from app.db import session, transaction
from app.documents.make import make
from app.documents.models import PAGE
from app.documents.paper import paper
from app.documents.rules import Kind, photos_in
from app.intake.models import Complaint
from app.orders.models import RepairOrder
from app.photos.queries import of_order
from app.photos.store import the_store
from tests import hostile
from tests.documents import make as papers
from tests.documents.every_paper import abouts, every_paper
from tests.pages import PageClient
from tests.whole_shop import WholeShop, opened

GONE = f"paper:photo/1/{'0' * 64}.jpg"  # no such file: a paper that asked for it would be refused


def typed(address: str) -> str:
    """An address as text, as an image, as an end of whatever it may stand in, and as a style's."""
    return f'zqx {address} <img src="{address}"> "><img src="{address}" alt="\' url("{address}") paper:demo.svg paper:font/x.ttf'


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return papers.taken_in().id


def change(app: Flask, order_id: int, words: str) -> None:
    with app.app_context(), transaction():
        session().query(Complaint).filter_by(order_id=order_id).one().words = words


def photo_of_somebody_else(app: Flask) -> str:
    with app.app_context(), transaction():
        other = papers.taken_in()
        shot = of_order(other.id)[0]
        return f"paper:photo/{shot.id}/{shot.web_sha256}.jpg"


@pytest.mark.parametrize("kind", ["no such file", "of another order"])
def test_an_address_in_a_complaint_neither_blocks_nor_redirects_the_receipt(app: Flask, counter: PageClient, order_id: int,
                                                                           kind: str) -> None:
    address = GONE if kind == "no such file" else photo_of_somebody_else(app)
    at = f"/orders/{order_id}/papers/receipt"
    before = [one.get("src") for one in counter.get(at).all("img")]
    change(app, order_id, typed(address))
    page = counter.get(at)
    assert typed(address).split(" <")[0] in page.words and [one.get("src") for one in page.all("img")] == before
    with app.test_request_context("/"):
        order = session().get_one(RepairOrder, order_id)
        made = make(order, paper(order, Kind.RECEIPT), now=clock.now(), as_page=True)
        whole = the_store().get(made.sha256).decode()
    assert made.media_type == PAGE and address in whole  # as text, where it was typed
    assert not re.search(r'(?:src=|url\()"paper:', whole)
    counter.post(at)  # and as a PDF


@pytest.fixture
def filled(whole_shop: WholeShop, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    data = whole_shop.copied(tmp_path_factory.mktemp("addresses") / "shop")
    yield data


def named(app: Flask) -> dict[tuple[int, str], set[str]]:
    with app.test_request_context("/"):
        return {(order.id, kind.value): set(photos_in(page)) for order, kind, page in every_paper()}


def test_no_text_of_a_filled_shop_names_a_photo_on_any_paper(filled: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    with opened(filled) as app:
        before = named(app)
    monkeypatch.setattr(hostile, "HOSTILE", typed(GONE))
    assert hostile.fill(filled / "tagstrip.db") > 100
    with opened(filled) as app:
        after = named(app)
        with app.test_request_context("/"):
            own = {key: {f"paper:photo/{shot.id}/{shot.web_sha256}.jpg" for shot in of_order(key[0])} for key in after}
        # Typed places that are all alike now pair other photos as found and as left than before: each still one of the order's own.
        assert after.keys() == before.keys() and all(after[key] <= own[key] for key in after), after
        assert sum(map(len, after.values())) > 10
        with app.test_request_context("/"):
            for order, kind, page in every_paper():
                assert GONE in page or "zqx" not in page, (order.id, kind)
        kinds: dict[Kind, int] = {}
        with app.test_request_context("/"):
            for order, kind, _ in every_paper():
                kinds.setdefault(kind, order.id)
        assert len(kinds) >= 5
        for kind, number in kinds.items():
            with app.test_request_context("/"):
                order = session().get_one(RepairOrder, number)
                made = make(order, paper(order, kind, abouts(order, kind)[0]), now=clock.now(), as_page=True)
                assert not re.search(r'(?:src=|url\()"paper:', the_store().get(made.sha256).decode()), kind
