"""What a page asks the database does not grow with what is recorded: as many queries with thirty of everything as with three."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.findings.models.findings import Finding
from app.orders.models import RepairOrder
from app.photos.models import Photo
from app.reassembly.queries.way import way_back
from app.removals.models import FoundObject, Removal
from tests import factories
from tests.bench.make import counted, stripped
from tests.pages import PageClient

PAGES = ("/orders/{order}", *(f"/orders/{{order}}/{page}" for page in (
    "findings", "findings/new?area=boards", "findings/{finding}", "findings/{finding}/leakage",
    "made-safe", "waste", "photos", "photos/pairs", "removals", "removals/new", "removals/{removal}",
    "removals/{removal}/edit", "removals/labels", "removals/lost", "removals/pieces", "way-back", "way-back/all",
    "way-back/step/{step}", "way-back/balance", "way-back/handover", "way-back/found/{found}")), "/photos/{photo}",
    "/orders/{order}/findings/new?photo_id={photo}")
MOST = {"/orders/{order}": 55}  # gathers from every room
ELSEWHERE = 20


@pytest.fixture
def engine_name() -> str:
    """The statements are the same on either engine."""
    return "sqlite"


def names_of(order: RepairOrder) -> dict[str, object]:
    """What stands in the addresses: the first record of each kind, and the next step."""
    def first(kind: type[Finding | Removal | FoundObject | Photo]) -> int | None:
        return session().scalar(sa.select(sa.func.min(kind.id)).where(kind.order_id == order.id))

    return {"order": order.id, "finding": first(Finding), "removal": first(Removal), "found": first(FoundObject),
            "photo": first(Photo), "step": way_back(order).left[0].id}


def opened(many: int) -> dict[str, object]:
    with transaction():
        order = factories.order(amp=factories.amp(serial=f"M30-{many}"))
        stripped(order, many)
        session().flush()
        return names_of(order)


def asked(app: Flask, client: PageClient, path: str) -> int:
    client.client.get(path)  # who is there is written down once in a while: not by the one that is counted
    with counted(app) as statements:
        assert client.client.get(path).status_code == 200, path
    return len(statements)


def test_no_page_asks_more_of_a_full_order_than_of_an_empty_one(app: Flask, technician: PageClient) -> None:
    with app.app_context():
        few, many = opened(3), opened(30)
    found = {page: (asked(app, technician, page.format(**few)), asked(app, technician, page.format(**many))) for page in PAGES}
    assert {page: both for page, both in found.items() if both[0] != both[1]} == {}
    assert {page: both for page, both in found.items() if both[1] > MOST.get(page, ELSEWHERE)} == {}
