"""The shop's logo: taken in as a photo is, printed at the head of papers, withdrawn and not removed."""

from __future__ import annotations

import io

import pytest
import sqlalchemy as sa
from flask import Flask
from PIL import Image

from app.db import session, transaction
from app.documents import queries
from app.documents.make import LOGO, PhotoLost, document, make
from app.documents.models import ShopLogo
from app.documents.paper import paper
from app.documents.rules import Kind
from app.orders.models import RepairOrder
from app.photos.store import the_store
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.intake.make import finish
from tests.pages import PageClient


def drawn() -> bytes:
    """A mark with transparent ground, wider than high."""
    out = io.BytesIO()
    Image.new("RGBA", (300, 100), (148, 69, 19, 0)).save(out, "PNG")
    return out.getvalue()


def test_it_is_added_shown_replaced_and_withdrawn(app: Flask, owner: PageClient, technician: PageClient) -> None:
    assert "Papers have no logo" in owner.get("/shop/logo").words
    page = owner.post("/shop/logo", {"file": drawn()})
    assert "The logo is saved" in page.words
    with app.app_context():
        first = queries.shop_logo()
        assert first is not None and (first.width, first.height, first.media_type) == (300, 100, "image/png")
        assert the_store().get(first.sha256) == drawn()
        key = first.id
    answer = owner.client.get(f"/shop/logo/{key}")
    with Image.open(io.BytesIO(answer.data)) as shown:
        assert shown.format == "JPEG" and shown.getpixel((5, 5)) == (255, 255, 255)  # transparent is white on paper
    owner.post("/shop/logo", {"file": drawn()})
    owner.post(f"/shop/logo/{key + 1}/withdraw", form_on="/shop/logo")
    assert "Papers have no logo" in owner.get("/shop/logo").words
    with app.app_context():
        assert session().scalar(sa.select(sa.func.count()).select_from(ShopLogo)) == 2  # nothing is deleted
    technician.get("/shop/logo", status=403)


def test_what_is_no_picture_is_refused_beside_its_field(owner: PageClient) -> None:
    page = owner.post("/shop/logo", {"file": b"GIF89a nothing"})
    assert "Correct these" in page.words and "GIF" in page.words
    assert "Choose a picture." in owner.post("/shop/logo", {}).words


def test_papers_have_it_above_their_head_and_their_facts_stay(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = finish(factories.order()).id
    with app.app_context():
        order = session().get_one(RepairOrder, order_id)
        plain = make(order, paper(order, Kind.RECEIPT), now=NOW, as_page=True)
        assert b"doc-logo\"" not in the_store().get(plain.sha256)
    owner.post("/shop/logo", {"file": drawn()})
    assert "/shop/logo/1" in owner.get(f"/orders/{order_id}/papers/receipt").text
    with app.app_context():
        order = session().get_one(RepairOrder, order_id)
        ready = paper(order, Kind.RECEIPT)
        html = document(order, ready, 1, replaces=0, head="0" * 64, now=NOW, logo=LOGO)
        assert f'<img src="{LOGO}" alt="Logo of {the_shop().name}">' in html
        made = make(order, ready, now=NOW, as_page=True)
        page = the_store().get(made.sha256).decode()
        assert "paper:logo" not in page and page.count("data:image/jpeg") == plain_pictures(the_store().get(plain.sha256)) + 1
        assert made.facts_sha256 == plain.facts_sha256  # a logo makes no issued paper old


def plain_pictures(page: bytes) -> int:
    return page.decode().count("data:image/jpeg")


def test_a_logo_whose_file_is_lost_stops_the_paper_in_words(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = finish(factories.order()).id
    owner.post("/shop/logo", {"file": drawn()})
    with app.app_context():
        logo, order = queries.shop_logo(), session().get_one(RepairOrder, order_id)
        assert logo is not None
        the_store().remove(logo.web_sha256)
        with pytest.raises(PhotoLost, match="withdraw the logo under Shop"):
            make(order, paper(order, Kind.RECEIPT), now=NOW, as_page=True)
