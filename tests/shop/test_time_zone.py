"""Another time zone shows days that are past otherwise: the settings page says so, with one of them, before it saves."""

from __future__ import annotations

from flask import Flask

from app.db import session
from app.shop.models import Shop
from tests.pages import PageClient


def zone(app: Flask) -> str:
    with app.app_context():
        return session().get_one(Shop, 1).time_zone


def test_another_zone_is_asked_about_and_saved_when_confirmed(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"time_zone": "Pacific/Auckland", "phone": "555 0177"})
    assert "Days that are past would be shown otherwise" in page.words and zone(app) == "Australia/Sydney"
    assert "2 Mar 2026, 20:30" in page.words.replace("\N{NO-BREAK SPACE}", " ")  # 09:30 UTC in Sydney, UTC+11 in March
    assert "2 Mar 2026, 22:30" in page.words.replace("\N{NO-BREAK SPACE}", " ")  # and in Auckland, UTC+13
    fields = page.fields("/shop")
    assert fields["phone"] == "555 0177", "what else was typed stays"
    owner.send("/shop", fields)
    assert zone(app) == "Pacific/Auckland" and owner.get("/shop").fields("/shop")["phone"] == "555 0177"


def test_a_confirmation_counts_for_the_zone_that_was_shown(app: Flask, owner: PageClient) -> None:
    fields = owner.post("/shop", {"time_zone": "Pacific/Auckland"}).fields("/shop")
    page = owner.send("/shop", {**fields, "time_zone": "Europe/London"})
    assert "Days that are past would be shown otherwise" in page.words and zone(app) == "Australia/Sydney"


def test_the_same_zone_is_not_asked_about(app: Flask, owner: PageClient) -> None:
    assert "would be shown otherwise" not in owner.post("/shop", {"phone": "555 0178"}).words
