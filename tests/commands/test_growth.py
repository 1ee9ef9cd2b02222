"""A shop that has grown is a shop still: every copy of an order is whole, opens on its page, and the next order can follow."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup.verify import verify
from app.commands.benchmarks import growth
from app.db import Base, database, session, transaction
from app.intake.queries import search as search_queries
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from tests import factories
from tests.factories import NOW
from tests.orders import steps
from tests.pages import PageClient
from tests.people import BY

COPIES = 7


@pytest.fixture
def told(context: Flask) -> Iterator[growth.Model]:
    """One order from the counter to its return, but nothing signed or printed with its number; and one before the mark."""
    with transaction():
        steps.equip()
        factories.order(amp=factories.amp(serial="not copied"))
        session().flush()
        low = growth.marks(session().connection())
        order_id = factories.order(customer=factories.customer("Oda Brannick", email="oda@example.org"),
                                   amp=factories.amp(protection_class=steps.CLASS_I)).id
    now = NOW
    for stage in IN_ORDER:
        for step in [one for one in steps.PROPER[stage] if one not in (steps.signed, steps.reported)]:
            now += timedelta(hours=1)
            with transaction():
                step(session().get_one(RepairOrder, order_id), now)
        if stage is not Stage.RETURN:
            with transaction():
                orders.move_on(session().get_one(RepairOrder, order_id), by=BY, now=now)
    high = growth.marks(session().connection())
    session().rollback()
    yield growth.model(low, high)


def counts() -> dict[str, int]:
    return {table.name: session().scalar(sa.select(sa.func.count()).select_from(table)) or 0
            for table in Base.metadata.sorted_tables}


def grow(told: growth.Model, *, journal: bool = False) -> int:
    """In two goes: what the shop does in between stands in nobody's way."""
    with transaction():
        rows = growth.grow(session(), told, 1, 3, journal=journal)
        factories.order(amp=factories.amp(serial="in between"))
    with transaction():
        return rows + growth.grow(session(), told, 4, COPIES, journal=journal)


def test_every_row_of_an_order_is_there_as_often_as_it_was_copied(told: growth.Model) -> None:
    before = counts()
    rows = grow(told)
    after = counts()
    between = {"repair_order": 1, "customer": 1, "amp": 1, "order_standing": 1}
    new = {name: told.high[name] - told.low[name] for name in told.high if name != "journal_entry"}
    new |= {"order_standing": 1, "order_outlook": 1}
    assert sum(bool(one) for one in new.values()) > 25  # a full life leaves something nearly everywhere
    assert {name: after[name] - before[name] - between.get(name, 0) for name in new} == {
        name: COPIES * many for name, many in new.items()}
    assert rows == sum(COPIES * many for many in new.values())
    assert {name for name in before if before[name] != after[name]} <= {*new, "journal_entry", "search_entry"}


def test_copies_are_shops_own_orders_and_point_at_their_own(told: growth.Model) -> None:
    grow(told)
    numbers = session().scalars(sa.select(RepairOrder.number)).all()
    assert len(set(numbers)) == len(numbers) == COPIES + 3 and max(numbers) - min(numbers) == COPIES + 2
    engine = database().engine
    if engine.dialect.name == "sqlite":
        assert session().execute(sa.text("PRAGMA foreign_key_check")).all() == []
    pairs = [(table, key.parent, key.column.table.alias("there")) for table in growth.copied() for key in table.foreign_keys
             if "order_id" in table.c and "order_id" in key.column.table.c]
    assert len(pairs) > 15
    for here, column, there in pairs:  # what belongs to an order points at what belongs to the same
        strays = sa.select(sa.func.count()).select_from(here.join(there, column == there.c.id)).where(
            here.c.order_id != there.c.order_id)
        assert session().scalar(strays) == 0, column


def test_page_of_a_copy_says_what_the_page_of_the_order_says(told: growth.Model, app: Flask, owner: PageClient) -> None:
    grow(told)
    first, last = session().execute(sa.select(sa.func.min(RepairOrder.id), sa.func.max(RepairOrder.id))
                                    .where(RepairOrder.id > told.low["repair_order"])).one()
    session().rollback()

    def words(order_id: int) -> str:
        said = owner.get(f"/orders/{order_id}").words
        return re.sub(r"\S+@\S+|\d+|Oda \w+", "-", said)

    assert words(last) == words(first)
    for page in ("photos", "removals", "papers", "history"):
        owner.get(f"/orders/{last}/{page}")


def test_customers_and_amps_are_found_by_names_of_their_own(told: growth.Model) -> None:
    grow(told)
    [match] = search_queries.matches(growth.word(COPIES))
    assert match.customer.name == f"Oda {growth.word(COPIES)}" and [one.serial[-6:] for one in match.amps] == [f"-{COPIES:05d}"]


def test_words_are_all_different() -> None:
    assert len({growth.word(number) for number in range(20_000)}) == 20_000


def test_what_is_worked_out_fits_and_a_journal_that_comes_along_holds(told: growth.Model) -> None:
    clean = verify().troubles
    before = counts()["journal_entry"]
    grow(told, journal=True)
    # Rows that are copied past every save have no seal; all else of them fits.
    assert tuple(one for one in verify().troubles if not one.endswith("has no seal in the journal")) == clean
    entries = told.high["journal_entry"] - told.low["journal_entry"]
    assert counts()["journal_entry"] == before + COPIES * entries + 2  # the one in between, and its seal


def test_next_order_follows_the_copies(told: growth.Model) -> None:
    grow(told)
    with transaction():
        order = factories.order(amp=factories.amp(serial="the next"))
        session().flush()
        assert order.number == session().scalar(sa.select(sa.func.max(RepairOrder.number)))


def test_ids_without_a_key_are_known_to_the_generator() -> None:
    """A column of an order's tables that is named like a key is one, or is a person's, or moves by name."""
    unknown = {(table.name, column.name) for table in growth.copied() for column in table.columns
               if column.name.endswith("_id") and not column.foreign_keys and not column.name.endswith("_by_id")}
    assert unknown <= growth.LOOSE | growth.ALONE
    assert [one for one in growth.LOOSE | growth.ALONE if one[1] not in Base.metadata.tables[one[0]].c] == []


def test_nothing_told_is_nothing_to_copy(context: Flask) -> None:
    here = growth.marks(session().connection())
    with pytest.raises(ValueError, match="no order"):
        growth.model(here, here)
