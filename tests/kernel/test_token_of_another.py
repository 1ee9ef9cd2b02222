"""The token of one sign-in opens nothing for another, of the same person or not (OWASP, Cross-Site Request Forgery Prevention
Cheat Sheet: tokens unique per session; from memory)."""

from __future__ import annotations

from flask import Flask

from app.shop.queries import the_shop
from tests.pages import PageClient
from tests.people import Cast


def test_a_page_of_another_sign_in_is_not_taken(app: Flask, cast: Cast) -> None:
    first, second = PageClient(app).sign_in(cast.owner), PageClient(app).sign_in(cast.owner)
    form = {**second.get("/shop").fields("/shop"), "phone": "555 0666"}
    foreign = first.token()["page_token"]
    assert foreign != form["page_token"]
    second.client.post("/shop", data={**form, "page_token": foreign})
    with app.app_context():
        assert the_shop().phone != "555 0666"
    second.client.post("/shop", data=form)
    with app.app_context():
        assert the_shop().phone == "555 0666"
