"""A customer's whole record as one ZIP: all of theirs, nothing of anybody else's, readable by itself, sent as it is written."""

from __future__ import annotations

import csv
import io
import json
import zipfile

import html5lib
import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.documents.rules import Kind
from app.intake.models import ConditionNote
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.orders.models import RepairOrder
from app.personal import handout
from app.photos.models import Photo
from app.photos.store import the_store
from app.records.models import Customer
from tests import factories
from tests.documents.test_papers import issue
from tests.factories import NOW
from tests.pages import PageClient
from tests.personal import make

OTHER = "Ebba Kvist", "+61 491 570 999", "ebba@kvist.example"


@pytest.fixture
def asker(app: Flask) -> int:
    """Their repair, whose owner is somebody else; and a repair of a stranger."""
    with app.app_context():
        with transaction():
            who, order = make.with_traces()
            owner = factories.customer(OTHER[0], phone=OTHER[1], email=OTHER[2])
            alone = factories.order(customer=who)
            order.owner_id = owner.id
            fetched = f"{OTHER[0]} will fetch it, {OTHER[1]}"
            session().add(ConditionNote(order_id=order.id, zone="top", note=fetched, at=NOW, by_name="Ines"))
            strange = factories.order(customer=factories.customer("Nils Aro", phone="555 4711", email="nils@aro.example"),
                                      amp=factories.amp(serial="STRANGE-1"))
            session().add(ConditionNote(order_id=strange.id, zone="top", note="a stranger’s scratch", at=NOW, by_name="Ines"))
            session().flush()
            customer_id, order_id, alone_id = who.id, order.id, alone.id
        issue(session().get_one(RepairOrder, order_id), Kind.RECEIPT)
        issue(session().get_one(RepairOrder, alone_id), Kind.RECEIPT)
    return customer_id


def the_zip(owner: PageClient, customer_id: int) -> zipfile.ZipFile:
    answer = owner.client.get(f"/customers/{customer_id}/record.zip")
    assert answer.status_code == 200 and answer.mimetype == "application/zip"
    made = zipfile.ZipFile(io.BytesIO(answer.data))
    assert made.testzip() is None
    return made


def test_all_of_theirs_is_in_it(app: Flask, owner: PageClient, asker: int) -> None:
    made = the_zip(owner, asker)
    told = json.loads(made.read("record.json"))
    assert [one["name"] for one in told["customer"]] == [make.NAME] and len(told["repair_order"]) == 2
    assert any("godson" in str(one["after"]) for one in told["history"])
    rows = list(csv.DictReader(io.StringIO(made.read("tables/condition_note.csv").decode())))
    assert [one["note"] for one in rows][:2] == [make.TOLD_WITH_NAME, "He is called Nailmaker by everybody."]
    with app.app_context():
        photo = session().scalars(sa.select(Photo)).one()
        assert made.read("photos/repair-1001-photo-1.jpg") == the_store().get(photo.sha256)
    assert [name for name in made.namelist() if name.startswith("papers/")] == ["papers/repair-1002-receipt-r1.pdf"]


def test_nothing_of_anybody_else_is_in_it(owner: PageClient, asker: int) -> None:
    made = the_zip(owner, asker)
    for name in made.namelist():
        body = made.read(name).decode("utf-8", "replace").lower()
        for strange in ("ebba", "kvist", "570 999", "nils aro", "555 4711", "strange-1", "scratch"):
            assert strange not in body, name
    assert "another person will fetch it, [erased]" in made.read("tables/condition_note.csv").decode()
    assert "receipt-r1.pdf: it names another person too" in made.read("index.html").decode()


def test_index_reads_by_itself(owner: PageClient, asker: int) -> None:
    """Valid HTML (html5lib, strict) that says of each kind what, how many, from where and why it is kept."""
    page = the_zip(owner, asker).read("index.html").decode()
    html5lib.HTMLParser(strict=True).parse(page.strip()[page.strip().index("<!doctype"):])
    assert "to reach you and to know whose amp it is" in page and "what you said at the counter" in page
    assert "tables/condition_note.csv" in page and "photos/repair-1001-photo-1.jpg" in page


def test_it_is_sent_as_it_is_written(app: Flask, asker: int) -> None:
    with app.test_request_context():
        whole = handout.gather(session().get_one(Customer, asker), NOW)
        parts = list(handout.sent(whole))
        assert len(parts) > len(whole.files) + 2
        assert zipfile.ZipFile(io.BytesIO(b"".join(parts))).testzip() is None


def test_a_lost_file_is_named(app: Flask, owner: PageClient, asker: int) -> None:
    with app.app_context():
        the_store().remove(session().scalars(sa.select(Photo)).one().sha256)
    made = the_zip(owner, asker)
    assert "photo-1.jpg" not in "".join(made.namelist()) and "repair-1001-photo-1.jpg: The file" in made.read("index.html").decode()


def test_giving_it_out_is_the_owners_act_and_kept(app: Flask, owner: PageClient, counter: PageClient, asker: int) -> None:
    assert counter.client.get(f"/customers/{asker}/record.zip").status_code == 403
    assert f"/customers/{asker}/record" in owner.get(f"/customers/{asker}").links()
    assert "to reach you and to know whose amp it is" in owner.get(f"/customers/{asker}/record").words
    answer = owner.client.post(f"/customers/{asker}/record", data=owner.token())
    assert answer.status_code == 303 and answer.headers["Location"] == f"/customers/{asker}/record.zip"
    with app.app_context():
        events = session().scalars(sa.select(JournalEntry.event).where(JournalEntry.event == Event.CUSTOMER_EXPORTED.value)).all()
        assert len(events) == 1
