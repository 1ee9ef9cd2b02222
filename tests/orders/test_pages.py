from __future__ import annotations

from flask import Flask

from app.db import transaction
from tests import factories
from tests.pages import PageClient


def test_order_page_shows_strip_and_next_thing(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        number = factories.order().id
    page = technician.get(f"/orders/{number}")
    assert "Tarnholt Meridian 30" in page.words
    assert "Intake" in page.words
    assert str(1001) in technician.get("/").words


def test_stranger_is_asked_to_sign_in(app: Flask, stranger: PageClient) -> None:
    with app.app_context(), transaction():
        number = factories.order().id
    assert stranger.get(f"/orders/{number}").title.startswith("Sign in")


def test_history_tells_who_opened_it(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        number = factories.order().id
    page = counter.get(f"/orders/{number}/history")
    assert "order opened" in page.words and "the console" in page.words
