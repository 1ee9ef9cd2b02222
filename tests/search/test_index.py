"""The index holds what the records say, after every save, on both engines, without anybody calling it."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate, search_kinds
from app.access.rules import May
from app.db import database, session, transaction
from app.documents.models import IssuedDocument
from app.documents.rules import Kind as Paper
from app.exchange.models import BroughtIn, ListedPart
from app.intake.models import Complaint
from app.orders.models import RepairOrder
from app.parts.models import Part
from app.parts.rules import PartKind
from app.records.models import Customer
from app.search import index, queries, service
from app.search.models import Kind, SearchEntry
from app.search.rules import understand
from app.shop import service as shop_service
from app.shop.queries import the_shop
from app.shop.wording import Pack
from tests import factories
from tests.factories import NOW
from tests.people import BY


def found(typed: str, kind: Kind, limit: int = 20) -> list[int]:
    session().rollback()
    return queries.find(kind, understand(typed, "AU"), limit)


def in_step() -> list[str]:
    session().rollback()
    return list(service.differences(session()))


def full(serial: str = "M30-0117", name: str = "Wren Adler") -> RepairOrder:
    """An order with everything that can be found of it, and noise of the same kind."""
    order = factories.order(customer=factories.customer(name, phone="0491 570 156"), amp=factories.amp(serial=serial))
    current = session()
    current.flush()
    current.add(Complaint(order_id=order.id, words="Hums and crackles when it is warm", at=NOW, by_name="Mara"))
    current.add(Part(order_id=order.id, what="Coupling capacitor 22 nF", kind=next(iter(PartKind)), quantity=2, place="V2 grid",
                     supplier="Harrow Parts", needed_at=NOW, needed_by="Ines"))
    current.add(IssuedDocument(order_id=order.id, kind=Paper.RECEIPT, revision=1, sha256=f"{order.id:x}".rjust(64, "a"),
                               page_sha256="b" * 64, facts_sha256="c" * 64, media_type="application/pdf", size=9,
                               journal_hash="d" * 64, issued_at=NOW, issued_by="Mara"))
    return order


def listed(number: str, what: str, supplier: str = "Harrow Parts") -> ListedPart:
    brought = BroughtIn(name="list.csv", sha256="e" * 64, what="parts", added=1, at=NOW, by_name="Tove")
    session().add(brought)
    session().flush()
    part = ListedPart(number=number, what=what, supplier=supplier, price_minor=250, brought_in_id=brought.id)
    session().add(part)
    session().flush()
    return part


@pytest.mark.parametrize(("typed", "kind"), [
    ("1001", Kind.ORDER), ("wren", Kind.ORDER), ("crackles", Kind.ORDER), ("+61 491 570 156", Kind.ORDER),
    ("m300117", Kind.ORDER), ("adl", Kind.CUSTOMER), ("0491570156", Kind.CUSTOMER), ("meridian", Kind.CUSTOMER),
    ("w", Kind.CUSTOMER), ("M30.0117", Kind.AMP),
    ("coupling 22nf", Kind.NEED), ("harrow v2", Kind.NEED), ("receipt wren", Kind.PAPER), ("1001 receipt", Kind.PAPER)])
def test_everything_is_found_by_its_own_words_and_nothing_else(context: Flask, typed: str, kind: Kind) -> None:
    with transaction():
        wanted = full()
        factories.order(customer=factories.customer("Bode Marsh", phone="0491 570 110"),
                        amp=factories.amp("Orrin", "Halcyon 15", serial="H15-9"))
    ids = {Kind.ORDER: wanted.id, Kind.CUSTOMER: wanted.depositor_id, Kind.AMP: wanted.amp_id, Kind.NEED: 1, Kind.PAPER: 1}
    assert found(typed, kind) == [ids[kind]]


def test_owner_and_approver_are_found_as_well(context: Flask) -> None:
    with transaction():
        order = full()
        order.owner_id = factories.customer("Ottilie Grau").id
        order.authority_id = factories.customer("Piers Nacht").id
    assert found("ottilie", Kind.ORDER) == found("nacht", Kind.ORDER) == [order.id]
    entry = queries.entries({Kind.ORDER: [order.id]})[Kind.ORDER][0]
    assert ["owner", "Ottilie Grau"] in entry.facts and ["may approve cost", "Piers Nacht"] in entry.facts


def test_a_changed_record_is_found_by_its_new_words_only(context: Flask) -> None:
    with transaction():
        order = full()
    with transaction() as current:
        current.get_one(Customer, order.depositor_id).name = "Wren Castellan"
    for kind in (Kind.ORDER, Kind.CUSTOMER, Kind.PAPER):
        assert len(found("castellan", kind)) == 1 and found("adler", kind) == []
    assert in_step() == []


def test_who_no_longer_owns_an_amp_is_not_found_by_it(context: Flask) -> None:
    with transaction():
        order, other = full(), factories.customer("Bode Marsh")
        before = order.depositor_id
    with transaction() as current:
        changed = current.get_one(RepairOrder, order.id)
        changed.depositor_id = changed.owner_id = other.id
    assert found("meridian", Kind.CUSTOMER) == [other.id] and before != other.id
    assert in_step() == []


def test_a_newer_price_takes_the_older_ones_place(context: Flask) -> None:
    with transaction():
        old = listed("C-22N", "Capacitor")
        other = listed("C-22N", "Capacitor, other supplier", supplier="Odd Lots")
    with transaction():
        new = listed("C-22N", "Capacitor, film")
    assert found("c22n", Kind.LISTED) == [new.id, other.id] and old.id not in found("capacitor", Kind.LISTED)
    assert in_step() == []


def test_a_save_that_fails_leaves_no_trace(context: Flask) -> None:
    with pytest.raises(RuntimeError, match="power went"), transaction():
        full()
        session().flush()
        raise RuntimeError("power went")
    assert found("wren", Kind.CUSTOMER) == [] and in_step() == []


def test_exact_numbers_come_first_then_those_that_begin_so(context: Flask) -> None:
    with transaction():
        orders = [factories.order(amp=factories.amp(serial=f"S{at}")) for at in range(15)]
        orders[14].number = 10012
        factories.order(amp=factories.amp(serial="1001"))
    numbers = {order.id: order.number for order in session().scalars(sa.select(RepairOrder))}
    assert [numbers[one] for one in found("1001", Kind.ORDER)][:3] == [1001, 10013, 10012]
    assert [numbers[one] for one in found("100", Kind.ORDER)][:3] == [10013, 10012, 1009]


def test_an_exact_serial_comes_before_newer_ones_that_only_hold_it(context: Flask) -> None:
    with transaction():
        exact = factories.amp(serial="117")
        for at in range(12):
            factories.amp(serial=f"M30-0117{at}")
    assert found("117", Kind.AMP, limit=5)[0] == exact.id and len(found("117", Kind.AMP, limit=5)) == 5


def test_newest_first_and_no_more_than_asked_for(context: Flask) -> None:
    with transaction():
        made = [factories.customer(f"Wren Number {at}") for at in range(9)]
    assert found("wren", Kind.CUSTOMER, limit=4) == [one.id for one in made[:-5:-1]]


def test_old_ones_are_found_behind_many_newer_ones(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(queries, "NEWEST_FIRST", 3)
    with transaction():
        first = factories.customer("Ottilie Grau")
        for at in range(8):
            factories.customer(f"Bode Marsh {at}")
    assert found("ottilie", Kind.CUSTOMER) == [first.id]


def test_verify_names_what_is_out_of_step_and_reindexing_mends_it(context: Flask) -> None:
    with transaction():
        order = full()
    with transaction() as current:
        current.execute(sa.text("UPDATE search_entry SET words = '  nonsense  ' WHERE kind = 'order'"))
        current.execute(sa.text("DELETE FROM search_entry WHERE kind = 'amp'"))
        current.execute(sa.insert(SearchEntry), [{"id": Kind.CUSTOMER.entry_id(777), "kind": "customer", "record_id": 777,
                                                  "order_id": None, "title": "Nobody", "facts": [], "words": "  nobody  "}])
    assert [line.removesuffix(" (migrate --search rebuilds it)") for line in in_step()] == [
        f"search: the entry of order {order.id} is out of step", "search: the entry of customer 777 should not be there",
        f"search: the entry of amp {order.amp_id} is missing"]
    assert found("nobody", Kind.CUSTOMER) == [777]
    with transaction() as current:
        assert service.renew_all(current) == 3
    assert in_step() == [] and found("crackles", Kind.ORDER) == [order.id] and found("nobody", Kind.CUSTOMER) == []


def test_an_old_shop_is_described_when_it_is_migrated(context: Flask) -> None:
    """What stood in the database before there was an index is found after the migration."""
    with transaction():
        order = full()
    with transaction() as current:
        current.execute(sa.text("DELETE FROM search_entry"))
    assert found("wren", Kind.ORDER) == []
    wanted = order.id
    session().close()
    with database().engine.connect().execution_options(writing=True) as connection, connection.begin():
        index.fill(connection)
    assert found("wren", Kind.ORDER) == [wanted] and in_step() == []


def test_the_engine_has_its_index_of_three_signs(context: Flask, engine_name: str) -> None:
    """Otherwise every other test here would pass by reading everything."""
    with database().engine.connect() as connection:
        if engine_name == "sqlite":
            made = connection.execute(sa.text("SELECT sql FROM sqlite_master WHERE name = 'search_text'")).scalar() or ""
            assert "trigram" in made
        else:
            made = connection.execute(sa.text("SELECT count(*) FROM pg_indexes WHERE indexdef LIKE '%gin_trgm_ops%'")).scalar()
            assert made == len(Kind)


def test_without_that_index_the_same_is_found(context: Flask) -> None:
    with transaction():
        order = full()
    with transaction() as current:
        index.lift(current.connection())
    assert found("m300117", Kind.ORDER) == [order.id] and found("nobody", Kind.ORDER) == []
    assert found("+61491570156", Kind.CUSTOMER) == [order.depositor_id] and found("w", Kind.CUSTOMER) == [order.depositor_id]


@pytest.mark.parametrize("engine_name", ["postgresql"], indirect=True)
def test_who_may_not_make_the_extension_is_told_in_one_line(context: Flask, engine_name: str,
                                                            capfd: pytest.CaptureFixture[str]) -> None:
    """The database of an ordinary role: the migration goes on, and search goes by reading everything."""
    engine = database().engine
    with engine.connect() as connection, connection.begin():
        connection.execute(sa.text("DROP EXTENSION pg_trgm CASCADE"))
        connection.execute(sa.text("DROP ROLE IF EXISTS guest"))
        connection.execute(sa.text("CREATE ROLE guest"))
        connection.execute(sa.text("GRANT ALL ON ALL TABLES IN SCHEMA public TO guest"))
        connection.execute(sa.text("SET LOCAL ROLE guest"))
        index.lay(connection)
        assert connection.execute(sa.text("SELECT count(*) FROM search_entry")).scalar() == 0
        connection.execute(sa.text("RESET ROLE"))
        connection.execute(sa.text("DROP OWNED BY guest"))
        connection.execute(sa.text("DROP ROLE guest"))
    said = capfd.readouterr().err
    assert said.count("\n") == 1 and "pg_trgm" in said and "superuser" in said


def test_a_bulk_statement_that_would_pass_by_the_index_is_refused(context: Flask) -> None:
    with pytest.raises(RuntimeError, match="customer would leave the search index behind"), transaction() as current:
        current.execute(sa.update(Customer).values(name="Everybody"))


def test_every_kind_is_described_once_and_names_what_it_needs() -> None:
    assert [kind.kind for kind in search_kinds.KINDS] == list(Kind)
    assert {kind.kind: kind.need for kind in search_kinds.KINDS}[Kind.LISTED] is May.PARTS


def test_the_index_of_a_running_shop_is_not_laid_twice(context: Flask) -> None:
    assert migrate.upgrade(database().engine) is False
    with database().engine.connect().execution_options(writing=True) as connection, connection.begin():
        index.lay(connection)
        index.lay(connection)


def test_a_paper_is_found_by_the_word_of_the_shops_pack_and_by_the_new_one_once_that_changes(context: Flask) -> None:
    with transaction():
        order = full()
        session().add(IssuedDocument(order_id=order.id, kind=Paper.ESTIMATE, revision=1, sha256="f" * 64, page_sha256="b" * 64,
                                     facts_sha256="c" * 64, media_type="application/pdf", size=9, journal_hash="d" * 64,
                                     issued_at=NOW, issued_by="Mara"))
    (quote,) = found("quote", Kind.PAPER)
    with transaction():
        shop_service.change(the_shop(), {"wording": Pack.TUBE}, by=BY, now=NOW)
    assert found("estimate", Kind.PAPER) == [quote] and found("quote", Kind.PAPER) == [] and in_step() == []
