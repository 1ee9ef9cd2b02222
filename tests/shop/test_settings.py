from __future__ import annotations

from flask import Flask

from app.db import transaction
from app.handover import notices
from app.intake import terms
from app.shop.jurisdictions import JURISDICTIONS, PLAIN, choices, code_of
from app.shop.queries import the_shop
from tests.pages import PageClient


def test_every_set_of_terms_can_be_chosen_by_its_title_and_nothing_else_can() -> None:
    assert set(JURISDICTIONS) == set(terms.known()) >= set(notices.known())
    assert all(JURISDICTIONS[code] == one.title for code, one in terms.known().items() if code != PLAIN)
    assert terms.PLAIN == notices.PLAIN == PLAIN


def test_a_code_is_known_however_it_was_typed_and_an_unknown_one_says_what_is_printed() -> None:
    assert (code_of(" AU-NSW "), code_of(""), code_of("fj")) == ("au-nsw", PLAIN, "fj")
    assert choices("AU-NSW") == list(JURISDICTIONS.items())
    assert choices("fj")[-1] == ("fj", "fj: no terms for it here, plain terms are printed")


def test_a_stored_place_without_terms_stays_until_another_is_chosen(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        the_shop().jurisdiction = "fj"
    assert "fj: no terms for it here" in owner.get("/shop").words
    owner.post("/shop", {"name": "Another name"})
    with app.app_context():
        assert the_shop().jurisdiction == "fj"
    owner.post("/shop", {"jurisdiction": "uk-england"})
    with app.app_context():
        assert the_shop().jurisdiction == "uk-england"
    assert "no terms for it here" not in owner.get("/shop").words
