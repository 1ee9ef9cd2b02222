"""Countries and time zones to choose from, against other tables than the one they are read from."""

from __future__ import annotations

from zoneinfo import available_timezones

import phonenumbers
from babel.core import get_global
from flask import Flask

from app.db import transaction
from app.shop import place
from app.shop.queries import country, the_shop
from tests.pages import PageClient


def test_every_country_of_the_telephone_s_tables_can_be_chosen() -> None:
    """`phonenumbers` keeps regions by ISO 3166, from another source; Ascension and Tristan da Cunha are parts of one, Kosovo has no
    code of the standard."""
    assert set(phonenumbers.SUPPORTED_REGIONS) - set(place.countries()) == {"AC", "TA", "XK"}
    assert place.countries()["GB"] == "United Kingdom"
    assert len(place.countries()) == 249  # ISO 3166-1 as of 2024: from memory


def test_every_zone_works_here_and_lies_where_cldr_puts_it() -> None:
    assert set(place.zones()) <= available_timezones()
    territories = get_global("zone_territories")
    told = {zone: words.split(":")[0] for zone, words in place.zones().items()}
    compared = {zone for zone in told if zone in territories}
    assert len(compared) > 300
    assert {zone for zone in compared if place.countries().get(territories[zone]) != told[zone]} == {
        "Antarctica/Troll"}  # a Norwegian station: each table has its own mind
    assert place.zones()["Australia/Sydney"] == "Australia: Sydney"
    assert place.zones()["America/Argentina/Buenos_Aires"] == "Argentina: Argentina, Buenos Aires"


def test_a_law_of_one_country_is_not_that_of_another() -> None:
    assert place.why_not_there("au-nsw", "AU") == place.why_not_there("plain", "FJ") == place.why_not_there("au-nsw", "") == ""
    assert place.why_not_there("au-nsw", "NZ") == ("This jurisdiction lies in Australia. Choose that country, or another "
                                                   "jurisdiction.")


def test_country_and_zone_are_chosen_and_a_zone_of_before_stays(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        the_shop().time_zone = "Australia/NSW"
    assert "Australia/NSW, as it was entered" in owner.get("/shop").words
    owner.post("/shop", {"jurisdiction": "plain", "country": "FJ"})
    with app.app_context():
        assert (the_shop().time_zone, the_shop().country, country()) == ("Australia/NSW", "FJ", "FJ")
    assert "This jurisdiction lies in France" in owner.post("/shop", {"jurisdiction": "fr"}).words
    owner.post("/shop", {"time_zone": "Pacific/Fiji", "confirmed_zone": "Pacific/Fiji"})
    with app.app_context():
        assert the_shop().time_zone == "Pacific/Fiji"
    assert "as it was entered" not in owner.get("/shop").words


def test_a_zone_that_is_none_is_refused_beside_its_field(owner: PageClient) -> None:
    assert "“Sydney time” is not a time zone. Choose one from the list." in owner.post("/shop", {"time_zone": "Sydney time"}).words
