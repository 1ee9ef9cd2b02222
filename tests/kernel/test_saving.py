"""A form counts once, and never over somebody else's change."""

from __future__ import annotations

from flask import Flask

from app.db import session
from app.journal.models import JournalEntry
from app.shop.queries import the_shop
from tests.pages import PageClient
from tests.people import Cast


def entries(app: Flask) -> int:
    with app.app_context():
        return session().query(JournalEntry).filter_by(event="shop:changed").count()


def test_the_same_form_twice_has_one_effect(app: Flask, owner: PageClient) -> None:
    form = {**owner.get("/shop").fields("/shop"), "phone": "555 0123"}
    owner.send("/shop", form)
    again = owner.send("/shop", form)
    assert "saved already" in again.words and entries(app) == 1


def test_the_same_key_with_other_entries_is_refused(app: Flask, owner: PageClient) -> None:
    form = {**owner.get("/shop").fields("/shop"), "phone": "555 0123"}
    owner.send("/shop", form)
    page = owner.send("/shop", {**form, "phone": "555 0999"}, status=409)
    assert "with different entries" in page.words
    with app.app_context():
        assert the_shop().phone == "555 0123"


def test_a_stale_page_shows_both_and_the_person_chooses(app: Flask, owner: PageClient) -> None:
    mine = {**owner.get("/shop").fields("/shop"), "phone": "555 0001", "warranty_days": "180"}
    owner.post("/shop", {"phone": "555 0002"})
    page = owner.send("/shop", mine, status=409)
    assert "555 0001" in page.words and "555 0002" in page.words and "Changed in the meantime" in page.title
    with app.app_context():
        assert the_shop().phone == "555 0002"
    owner.send("/shop", page.fields("/shop"))
    with app.app_context():
        assert (the_shop().phone, the_shop().warranty_days) == ("555 0001", 180)


def test_a_refused_form_keeps_what_was_typed(owner: PageClient) -> None:
    page = owner.post("/shop", {"time_zone": "Nowhere/Town", "name": "Lowgate & Daughters", "hourly_rate_minor": "85,5x"})
    assert page.title.startswith("Error: ")
    fields = page.fields("/shop")
    assert (fields["time_zone"], fields["name"], fields["hourly_rate_minor"]) == ("Nowhere/Town", "Lowgate & Daughters", "85,5x")
    assert "“Nowhere/Town” is not a time zone" in page.words and "“85,5x” is not an amount" in page.words


def test_a_page_of_the_shop_from_before_signing_in_again_is_shown_and_not_sent_on(owner: PageClient, cast: Cast) -> None:
    form = {**owner.get("/shop").fields("/shop"), "phone": "555 0777"}
    page = owner.sign_in(cast.owner).send("/shop", form, status=403)
    assert "Not saved" in page.title and "555 0777" in page.words and not page.all("form", action="/shop")
    assert owner.get("/shop").fields("/shop")["phone"] != "555 0777"


def test_theme_and_gloves_stay_on_the_device(owner: PageClient) -> None:
    owner.send("/theme", {**owner.get("/").fields("/theme"), "theme": "dark"})
    assert 'data-theme="dark"' in owner.get("/").text
    owner.send("/theme", {**owner.get("/").fields("/theme"), "gloves": "on"})
    assert 'data-gloves="on"' in owner.get("/").text


def test_theme_never_leads_off_the_site(owner: PageClient) -> None:
    answer = owner.client.post("/theme", data={**owner.token(), "theme": "dark", "back": "//evil.example/"})
    assert answer.headers["Location"] == "/"
