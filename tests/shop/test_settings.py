from __future__ import annotations

from flask import Flask

from app.db import transaction
from app.handover import notices
from app.intake import terms
from app.shop.jurisdictions import JURISDICTIONS, PLAIN, choices, code_of
from app.shop.queries import the_shop
from tests import factories
from tests.money import make as bills
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


def test_bills_begin_at_the_number_that_is_set_and_go_on_without_a_gap(app: Flask, owner: PageClient) -> None:
    owner.post("/shop", {"first_bill": "2700", "first_credit_note": "90"})
    with app.app_context(), transaction():
        made = [bills.bill(bills.order_to_bill(), 5000, "less than agreed") for _ in range(2)]
        note = bills.credit(made[0], 1000)
        assert [one.number for one in made] == [2700, 2701] and note.number == 90
    page = owner.post("/shop", {"first_bill": "2800"})
    assert "Bill 2701 is issued already: the numbers go on from it without a gap." in page.words
    assert "Saved." in owner.post("/shop", {"first_bill": "2700", "name": "The shop"}).words


def test_the_first_number_is_that_of_the_next_repair_and_never_one_that_is_passed(app: Flask, owner: PageClient) -> None:
    owner.post("/shop", {"first_number": "2600"})
    with app.app_context(), transaction():
        assert the_shop().first_number == 2600
        assert factories.order(first_number=the_shop().first_number).number == 2600
    assert "Repair 2600 is there already. Enter a number above 2600" in owner.post("/shop", {"first_number": "2599"}).words
    owner.post("/shop", {"first_number": "3000", "name": "The shop"})
    with app.app_context(), transaction():
        assert factories.order(first_number=the_shop().first_number, amp=factories.amp(serial="2")).number == 3000


def test_settings_are_saved_once_somebody_has_saved_them(app: Flask, owner: PageClient) -> None:
    with app.app_context():
        assert the_shop().settings_saved_at is None
    owner.post("/shop", {})
    with app.app_context():
        first, version = the_shop().settings_saved_at, the_shop().version
        assert first is not None
    owner.post("/shop", {})
    with app.app_context():
        assert (the_shop().settings_saved_at, the_shop().version) == (first, version)
