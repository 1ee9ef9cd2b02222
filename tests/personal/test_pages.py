"""The owner's pages about personal data, as a browser asks for them."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.db import session, transaction
from app.orders.models import RepairOrder
from app.personal import queries, retention
from app.personal.models import Erasure
from app.records.models import Customer
from app.shop.jurisdictions import JURISDICTIONS
from app.shop.queries import the_shop
from tests.pages import PageClient
from tests.personal import make


@pytest.fixture
def leaver(app: Flask) -> int:
    with app.app_context(), transaction():
        who, order = make.with_traces()
        make.ended(order)
        return who.id


def test_a_person_is_erased_by_the_page_and_gets_a_paper(app: Flask, owner: PageClient, counter: PageClient, leaver: int) -> None:
    assert counter.client.get(f"/customers/{leaver}/erase").status_code == 403
    assert f"/customers/{leaver}/erase" in owner.get(f"/customers/{leaver}").links()
    path = f"/customers/{leaver}/erase"
    wrong = owner.post(path, {"typed_name": "Somebody Else", "further": "Nailmaker"})
    assert "This is not the name as it stands above" in wrong.words and "Nailmaker" in wrong.text  # nothing typed is lost
    short = owner.post(path, {"typed_name": make.NAME, "further": "Os"})
    assert "too short to be told from other words" in short.words
    paper = owner.post(path, {"typed_name": make.NAME, "further": "Nailmaker\nOsric"})
    for said in ("Your data was erased", "Backups and exports that were made before", "they asked for it", "Photos of the amp",
                 "acceptances of the terms, signature included".capitalize(), f"Erased person {leaver}"):
        assert said in paper.words, said
    assert not [one for one in make.TRACES if one in paper.text.lower()]
    page = owner.get(f"/customers/{leaver}")
    assert f"/customers/{leaver}/erasure" in page.links() and f"/customers/{leaver}/edit" not in page.links()
    assert "erased already" in owner.get(path).words
    for elsewhere in ("/", "/records?q=Thornbury", f"/history/customer/{leaver}", "/orders/1", "/orders/1/papers"):
        answer = owner.client.get(elsewhere).text.lower().replace("q=thornbury", "").replace('value="thornbury"', "")
        found = [one for one in make.TRACES if one in answer.replace("“thornbury”", "")]
        assert found == [], (elsewhere, found)


def test_what_stands_in_the_way_is_said_instead_of_the_form(app: Flask, owner: PageClient, leaver: int) -> None:
    with app.app_context(), transaction() as current:
        order = current.scalars(sa.select(RepairOrder)).one()
        order.ended_as = order.ended_at = None
    page = owner.get(f"/customers/{leaver}/erase")
    assert "Repair 1001 is open. Finish it and return the amp first." in page.words and not page.all("input", name="typed_name")


def test_yearly_list_names_who_is_due_each_with_its_act(app: Flask, owner: PageClient, leaver: int,
                                                         monkeypatch: pytest.MonkeyPatch) -> None:
    assert "Nobody is due" in owner.get("/personal-data/due").words
    with app.app_context():
        ended = session().scalars(sa.select(RepairOrder)).one().ended_at
        assert ended is not None and queries.customer_years() == 7
        due = queries.due(ended.date().replace(year=ended.year + 7))
        assert [one.customer.id for one in due] == [leaver] and due[0].since == ended.date().replace(year=ended.year + 7)
        assert queries.due(due[0].since - timedelta(days=1)) == []
        with transaction():
            the_shop().customer_years = 1
            the_shop().jurisdiction = "au-nsw"
        assert queries.customer_years() == 5  # the tax authority's period is longer than the shop's choice
        with transaction() as current:
            order = current.scalars(sa.select(RepairOrder)).one()
            order.opened_at -= timedelta(days=5 * 366)
            order.ended_at = order.opened_at + timedelta(days=1)
    page = owner.get("/personal-data/due")
    assert make.NAME in page.words and f"/customers/{leaver}/erase" in page.links() and "Australian Taxation Office" in page.words
    assert clock.now().year > 2000


def test_every_place_has_a_period_with_source_mark_and_day() -> None:
    assert retention.known().keys() == JURISDICTIONS.keys()
    for periods in retention.known().values():
        for one in periods:
            assert one.words and one.source and one.read in ("seen", "secondary", "from memory", "not found") and one.checked
            assert (one.years is None) == (one.read == "not found") and (one.address or one.jurisdiction == "plain")


def test_where_no_period_is_known_the_owner_says_it(app: Flask, owner: PageClient, leaver: int) -> None:
    with app.app_context(), transaction():
        the_shop().jurisdiction = "plain"
    path = f"/customers/{leaver}/erase"
    assert "enter for how many years the shop keeps its bills" in owner.post(path, {"typed_name": make.NAME}).words
    owner.post(path, {"typed_name": make.NAME, "paper_years": "6"})
    with app.app_context():
        assert session().get_one(Customer, leaver).erased_at and session().scalars(sa.select(Erasure)).one().jurisdiction == "plain"
