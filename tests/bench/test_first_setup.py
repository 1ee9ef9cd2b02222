"""The first set-up: each entry is done when the records show it, and by nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from flask import Flask

from app import clock
from app.bench.first_setup.queries import setup
from app.bench.first_setup.rules import Known, first_setup
from app.db import transaction
from app.measuring.rules import Kind
from app.measuring.service import instruments
from app.measuring.spec import InstrumentFacts
from app.safety import queries as safety
from app.safety.service import profiles
from app.shop import service
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY, Cast

ALL = Known(name="Shop", address="1 Lane", reached_by="555 0100", settings_saved=True, place="Australia, time zone UTC",
            hands=1, bench_people=["Ines"], with_pin=["Ines"], instruments_needed=["multimeter"], profile="EN 50678, edition 2020",
            profile_confirmed=True, terms="Plain terms", rates="An hour 95.00", hourly_rate_minor=9500, devices=["Bench 1"],
            backup_good=True, backup="Last good backup: today.")
TITLES = ["Shop", "People", "Instruments", "Limits", "Terms", "Prices", "Tablet", "Backup"]


def undone(**otherwise: object) -> list[str]:
    return [item.title for item in first_setup(replace(ALL, **otherwise)).items if not item.done]  # type: ignore[arg-type]


def test_all_of_it_is_done_only_with_all_of_it() -> None:
    assert [item.title for item in first_setup(ALL).items] == TITLES
    assert undone() == [] and first_setup(ALL).next is None
    assert [item.title for item in first_setup(Known()).items if not item.done] == TITLES


@pytest.mark.parametrize(("otherwise", "left"), [
    ({"address": ""}, ["Shop"]), ({"reached_by": ""}, ["Shop"]), ({"settings_saved": False}, ["Shop", "Terms", "Prices"]),
    ({"hands": 2}, ["People"]), ({"bench_people": []}, ["People"]),
    ({"instruments_missing": ["multimeter"]}, ["Instruments"]), ({"instruments_needed": []}, ["Instruments"]),
    ({"profile": ""}, ["Limits"]), ({"profile_confirmed": False}, ["Limits"]), ({"profile_to_look_at": True}, ["Limits"]),
    ({"terms_unread": 1}, ["Terms"]), ({"hourly_rate_minor": 0}, ["Prices"]), ({"devices": []}, ["Tablet"]),
    ({"with_pin": []}, ["Tablet"]), ({"backup_good": False}, ["Backup"]),
])
def test_one_thing_that_is_missing_leaves_its_entry_open(otherwise: dict[str, object], left: list[str]) -> None:
    assert undone(**otherwise) == left


def test_an_entry_says_what_is_missing() -> None:
    says = {item.title: item.says for item in first_setup(Known(name="Shop", hands=2, bench_people=["Ines"])).items}
    assert says["Shop"] == "Papers show “Shop” without the address and a phone number or an e-mail address."
    assert says["People"] == "At the bench: Ines. The settings count on 2 at once."


def done(app: Flask) -> set[str]:
    with app.app_context():
        return {item.title for item in setup(clock.now().date()).items if item.done}


def test_entries_are_done_by_the_records_one_by_one(app: Flask, cast: Cast) -> None:
    assert done(app) == {"People"}  # the cast is hired
    with app.app_context(), transaction():
        service.change(the_shop(), {"address": "1 Lane", "phone": "555 0100"}, by=BY, now=NOW)
    assert {"Shop", "Prices"} <= done(app)
    with app.app_context(), transaction():
        profiles.ensure_profiles(now=NOW)
        profile = next(one for one in safety.profiles() if one.key == "en_50678")
        profiles.put_in_force(profile, by=BY, now=NOW)
    assert "Limits" not in done(app)
    with app.app_context(), transaction():
        profile = next(one for one in safety.profiles() if one.key == "en_50678")
        profiles.confirm_profile(profile, edition="2020", edition_date=date(2020, 9, 1), by=BY, now=NOW)
    assert "Limits" in done(app) and "Instruments" not in done(app)
    today = clock.now().date()
    with app.app_context(), transaction():
        for name, kind in (("M2", Kind.MULTIMETER), ("E1", Kind.SAFETY_TESTER)):
            instruments.add_instrument(InstrumentFacts(name=name, kind=kind, calibrated_on=today, due_on=today + timedelta(days=9)),
                                       by=BY, now=NOW)
    assert "Instruments" in done(app)
    with app.app_context():
        assert "Instruments" not in {one.title for one in setup(today + timedelta(days=10)).items if one.done}  # out of date
    assert "Tablet" not in done(app)


def test_the_empty_bench_shows_the_owner_the_list_and_nobody_else(app: Flask, owner: PageClient, technician: PageClient) -> None:
    page = owner.get("/")
    assert "First set-up" in page.words and "1 of 8 done" in page.words
    assert "First set-up" not in technician.get("/").words
    assert "1 of 8 done" in owner.get("/shop/first-setup").words
    technician.get("/shop/first-setup", status=403)
    with app.app_context(), transaction():
        factories.order()
    assert "First set-up" not in owner.get("/").words
    assert "First set-up" in owner.get("/shop").words
