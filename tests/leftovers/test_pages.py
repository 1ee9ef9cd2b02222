"""The owner settles what a migration could not match: by hand, or by setting it aside. Nothing is dropped."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import session, transaction
from app.findings.models.special import BakeOut
from app.findings.rules.signs import Sign
from app.findings.service import special as special_service
from app.journal import queries as journal
from app.leftovers import queries
from app.leftovers.models import Leftover, Told
from app.parts.models import Part
from app.photos.models import Pin
from app.removals import queries as removals
from tests import factories
from tests.factories import NOW
from tests.findings.make import finding
from tests.pages import PageClient
from tests.parts import make as parts
from tests.people import BY
from tests.photos.make import photo
from tests.removals.make import removal


def listed(order_id: int, table: str, record: int, told: Told, text: str) -> int:
    """An entry as the migration writes it."""
    made = Leftover(order_id=order_id, record_table=table, record_id=record, title=f"{table} {record}", told=told, text=text,
                    why="Several records have that name.", found_at=NOW)
    session().add(made)
    session().flush()
    return made.id


@pytest.fixture
def entries(app: Flask) -> dict[Told, int]:
    """One entry of each sort, on an order with two removals."""
    with app.app_context(), transaction():
        order = factories.order()
        first = removal(order, "A1", name="lid")
        removal(order, "A2", name="lid")
        seen, leak = photo(order), finding(order, signs=Sign.BOARD_LEAKS.value)
        bake = special_service.start_bake_out(leak, by=BY, now=NOW)
        part = parts.part(order, place="lid")
        session().flush()
        made = {told: listed(order.id, table, record, told, "lid") for told, table, record in (
            (Told.UNDER, "removal", first.id), (Told.FIXED, "removal", first.id), (Told.PLACE, "part", part.id),
            (Told.PIN, "photo_pin", 1), (Told.BAKED, "bake_out", bake.id))}
        session().add(Pin(order_id=order.id, photo_id=seen.id, leftover_id=made[Told.PIN], label="9", x=0.5, y=0.5, at=NOW,
                          by_name="Ines"))
        return made


def test_each_is_matched_by_hand(app: Flask, owner: PageClient, entries: dict[Told, int]) -> None:
    page = owner.get("/shop")
    assert "Settle 5 names that an update could not match" in page.words
    assert page.words and owner.get("/shop/leftovers").words.count("Several records have that name.") == 5
    for told, entry in entries.items():
        owner.get(f"/orders/1/leftovers/{entry}")
        page = owner.post(f"/shop/leftovers/{entry}/match", {"chosen": ""}, form_on=f"/orders/1/leftovers/{entry}")
        assert "Choose what it names." in page.words, told
        page = owner.post(f"/shop/leftovers/{entry}/match", {"chosen": "removal 2"}, form_on=f"/orders/1/leftovers/{entry}")
        assert "Matched." in page.words, told
    assert "Every name is matched or set aside." in page.words and "lid A2" in page.words
    assert "could not match" not in owner.get("/shop").words
    with app.app_context():
        one = removals.find(1)
        assert one and one.under == ["A2"] and one.held_by and one.held_by.mark == "A2"
        assert session().get_one(Part, 1).removal_id == 2 and session().get_one(Pin, 1).table == "removal"
        assert [hold.removal_id for hold in session().get_one(BakeOut, 1).holds] == [2]
        assert all(len(journal.of_record("leftover", entry)) == 1 for entry in entries.values())


def test_one_is_set_aside_with_its_reason_and_others_of_the_same_words_with_it(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        removal(order, "W1")
        parts.part(order, place="V6")
        for text, told, table in (("V6", Told.FIXED, "removal"), ("v6", Told.FIXED, "removal"), ("V6", Told.PLACE, "part")):
            listed(order.id, table, 1, told, text)
    on = "/orders/1/leftovers/1"
    page = owner.post("/shop/leftovers/1/set-aside", {"reason": " "}, form_on=on)
    assert "Enter why it is set aside." in page.words
    page = owner.post("/shop/leftovers/1/set-aside", {"reason": "the base stayed in", "alike": "y"}, form_on=on)
    assert page.words.count("the base stayed in") == 2 and "Set aside by" in page.words
    page = owner.send("/shop/leftovers/1/set-aside", {**owner.token(), "reason": "again"}, status=409)
    assert "set aside already" in page.words
    with app.app_context():
        assert queries.how_many() == 1


def test_whoever_meets_one_on_a_photo_reads_it_and_only_the_owner_settles_it(app: Flask, technician: PageClient,
                                                                             entries: dict[Told, int]) -> None:
    page = technician.get("/photos/1")
    assert f"/orders/1/leftovers/{entries[Told.PIN]}" in page.text
    page = technician.get(f"/orders/1/leftovers/{entries[Told.PIN]}")
    assert "The owner matches it, or sets it aside." in page.words and not page.all("select")
    technician.get("/shop/leftovers", status=403)
    technician.get("/orders/2/leftovers/1", status=404)
