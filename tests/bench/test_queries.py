"""What a page asks the database does not grow with what is recorded: as many queries with thirty of everything as with three."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.findings.models.findings import Finding
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.photos.models import Photo
from app.reassembly.queries.way import way_back
from app.removals.models import FoundObject, Removal
from tests import factories
from tests.bench.make import counted, stripped
from tests.orders import steps
from tests.pages import PageClient
from tests.people import BY

PAGES = ("/", "/orders/{order}", *(f"/orders/{{order}}/{page}" for page in (
    "findings", "findings/new?area=boards", "findings/{finding}", "findings/{finding}/leakage",
    "discharge", "discharge/list", "waste", "photos", "photos/pairs", "removals", "removals/new", "removals/{removal}",
    "removals/{removal}/edit", "removals/labels", "removals/lost", "removals/pieces", "way-back", "way-back/all",
    "way-back/step/{step}", "way-back/balance", "way-back/handover", "way-back/found/{found}")), "/photos/{photo}",
    "/orders/{order}/findings/new?photo_id={photo}")
MOST = {"/": 12, "/orders/{order}": 44,
        "/orders/{order}/removals/{removal}": 21}  # the list of all orders; what gathers from every room; both rows of a class
ELSEWHERE = 20
WRITES = ("INSERT", "UPDATE", "DELETE", "BEGIN IMMEDIATE")


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
    """How many statements a page takes; none of them writes."""
    with counted(app) as statements:
        assert client.client.get(path).status_code == 200, path
    assert [one for one in statements if one.startswith(WRITES)] == [], path
    return len(statements)


def test_no_page_asks_more_of_a_full_order_than_of_an_empty_one(app: Flask, technician: PageClient) -> None:
    with app.app_context():
        few, many = opened(3), opened(30)
    found = {page: (asked(app, technician, page.format(**few)), asked(app, technician, page.format(**many))) for page in PAGES}
    assert {page: both for page, both in found.items() if both[0] != both[1]} == {}
    assert {page: both for page, both in found.items() if both[1] > MOST.get(page, ELSEWHERE)} == {}


@pytest.mark.parametrize("stage", IN_ORDER)
def test_the_order_s_page_stays_small_in_every_stage(app: Flask, technician: PageClient, stage: Stage) -> None:
    """An order to which everything was done that its stage asks for."""
    with app.app_context():
        with transaction():
            steps.equip()
        order_id = lived_through(IN_ORDER.index(stage))
    assert asked(app, technician, f"/orders/{order_id}") <= MOST["/orders/{order}"]


@pytest.mark.timeout(300)
def test_the_bench_list_asks_as_much_of_600_orders_as_of_12(app: Flask, technician: PageClient) -> None:
    found, made = {}, 0
    for many in (12, 60, 600):
        with app.app_context(), transaction():
            for one in range(made, many):
                factories.order(amp=factories.amp(serial=f"M30-{one}")).stage = IN_ORDER[one % len(IN_ORDER)]
        made = many
        found[many] = asked(app, technician, "/")
    print(found)
    assert set(found.values()) <= set(range(MOST["/"] + 1)) and len(set(found.values())) == 1, found


def lived_through(stages: int) -> int:
    """An order that went properly through so many stages, and has everything done that the next one asks for."""
    now = factories.NOW
    with transaction():
        order_id = factories.order(amp=factories.amp(protection_class=steps.CLASS_I)).id
    for stage in IN_ORDER[:stages + 1]:
        moves = () if stage is IN_ORDER[stages] else (on,)
        for step in (*steps.PROPER[stage], *moves):
            now += timedelta(hours=1)
            with transaction():
                step(session().get_one(RepairOrder, order_id), now)
    return order_id


def on(order: RepairOrder, now: datetime) -> None:
    orders.move_on(order, by=BY, now=now)
