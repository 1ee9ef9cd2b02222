"""Every row is held against its seal in the journal: whatever was altered past Tagstrip is named, and nothing else."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock, create_app
from app.backup.backup import backup
from app.backup.restore import restore
from app.backup.verify import verify
from app.db import Base, database, session, transaction
from app.errors import BadInput
from app.journal import seals, triggers
from app.journal import service as journal
from app.orders.models import RepairOrder
from app.photos.models import Photo
from app.records.models import Customer
from tests import factories
from tests.conftest import configure
from tests.photos.make import photo
from tests.whole_shop import WholeShop, opened


@pytest.fixture
def an_order(context: Flask) -> int:
    with transaction():
        return factories.order().id


def past_tagstrip(*statements: str) -> None:
    """As somebody would who has the database and nothing else."""
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        triggers.lift(raw)
        for statement in statements:
            raw.execute(sa.text(statement))
        triggers.protect(raw)


def test_what_was_saved_as_it_should_be_is_not_named(an_order: int) -> None:
    assert verify().troubles == () and verify().rows > 6


@pytest.mark.parametrize(("statement", "named"), [
    ("UPDATE customer SET phone = '555 9999' WHERE id = 1", "customer 1 is not as it was last saved"),
    ("UPDATE repair_order SET number = number + 1000 WHERE id = 1", "repair_order 1 is not as it was last saved"),
    ("INSERT INTO customer (id, name, version) SELECT 77, name, version FROM customer WHERE id = 1", ""),
])
def test_a_row_that_was_altered_is_named(an_order: int, statement: str, named: str) -> None:
    if not named:
        columns = [c.name for c in Base.metadata.tables["customer"].columns if c.name != "id"]
        statement = f"INSERT INTO customer (id, {', '.join(columns)}) SELECT 77, {', '.join(columns)} FROM customer WHERE id = 1"
        named = "customer 77 has no seal in the journal"
    past_tagstrip(statement)
    assert named in verify().troubles


def test_an_altered_row_that_is_saved_again_stays_named(an_order: int) -> None:
    """An ordinary act on it afterwards seals what was altered along with what it wrote: the journal keeps what it met there."""
    past_tagstrip("UPDATE customer SET phone = '555 9999' WHERE id = 1")
    with transaction():
        customer = session().get_one(Customer, 1)
        customer.email = "later@example.test"
    with transaction():
        session().get_one(Customer, 1).email = "later.still@example.test"
    found = [one for one in verify().troubles if "customer 1" in one]
    assert len(found) == 1 and "was altered before it was saved again, journal entry" in found[0]


def test_a_row_that_was_put_in_and_saved_again_stays_named(an_order: int) -> None:
    columns = ", ".join(c.name for c in Base.metadata.tables["customer"].columns if c.name != "id")
    past_tagstrip(f"INSERT INTO customer (id, {columns}) SELECT 77, {columns} FROM customer WHERE id = 1")
    with transaction():
        session().get_one(Customer, 77).email = "later@example.test"
    assert any("customer 77 had no seal when it was saved again" in one for one in verify().troubles)


def test_several_saves_of_one_row_in_and_after_one_act_are_not_named(an_order: int) -> None:
    with transaction():
        made = factories.order()
        session().flush()
        made.shelf = "A1"
        session().flush()
        made.shelf = "A2"
    with transaction():
        again = session().get_one(RepairOrder, made.id)
        again.shelf = "A3"
        session().flush()
        again.shelf = "A4"
    with pytest.raises(ZeroDivisionError), transaction():
        session().get_one(RepairOrder, made.id).shelf = "B9"
        session().flush()
        raise ZeroDivisionError
    assert verify().troubles == ()


def test_a_row_that_was_deleted_is_named(an_order: int) -> None:
    with transaction():
        order_id = factories.order().id
    session().rollback()
    past_tagstrip(f"DELETE FROM order_standing WHERE order_id = {order_id}",
                  *(f"DELETE FROM {table} WHERE order_id = {order_id}" for table in _naming_an_order()),
                  f"DELETE FROM repair_order WHERE id = {order_id}")
    assert f"repair_order {order_id} is gone" in verify().troubles


def _naming_an_order() -> list[str]:
    return [table.name for table in reversed(Base.metadata.sorted_tables)
            if "order_id" in table.columns and table.name not in ("journal_entry", "order_standing")]


def test_a_journal_written_anew_is_told_by_a_head_from_paper(an_order: int) -> None:
    """Whoever has the file can write new seals and a new chain, in itself without a break: only what is printed knows better."""
    printed = journal.head()
    assert "holds that head" in verify(printed).summary and "holds that head" in verify(printed[:12].upper()).summary
    session().rollback()
    entries = Base.metadata.tables["journal_entry"]
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        triggers.lift(raw)
        raw.execute(sa.text("UPDATE customer SET phone = '555 9999' WHERE id = 1"))
        last = seals.last_seals(raw)["customer 1"]
        fresh = dict(seals.as_they_stand(raw, "customer", Base.metadata.tables["customer"].columns.keys()))[1]
        raw.execute(sa.text("UPDATE journal_entry SET after = replace(after, :last, :fresh)"), {"last": last, "fresh": fresh})
        previous = "0" * 64
        for row in raw.execute(sa.select(entries).order_by(entries.c.seq)).mappings().all():
            anew = journal.entry_hash(previous, {**row, "at": journal.stamp(row["at"])})
            raw.execute(entries.update().where(entries.c.seq == row["seq"]).values(previous_hash=previous, hash=anew))
            previous = anew
        triggers.protect(raw)
    assert [one for one in verify().troubles if not one.startswith("search: ")] == []
    assert any("rewritten since" in one for one in verify(printed).troubles)


def test_a_head_that_is_none_is_refused(context: Flask) -> None:
    with pytest.raises(BadInput, match="at least 8"):
        verify("xyz")
    assert any("no journal entry has the hash" in one for one in verify("0123456789abcdef").troubles)


def test_a_dropped_trigger_and_a_dropped_index_are_named(an_order: int) -> None:
    session().rollback()
    on = " ON repair_order" if database().engine.dialect.name == "postgresql" else ""
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text(f"DROP TRIGGER no_delete_repair_order{on}"))
        raw.execute(sa.text("DROP INDEX ix_journal_entry_order"))
    found = verify().troubles
    assert len(found) == 2 and "no_delete_repair_order" in found[0] and "ix_journal_entry_order" in found[1]


def test_a_trigger_that_does_nothing_is_named(an_order: int) -> None:
    session().rollback()
    if database().engine.dialect.name == "postgresql":
        changed = ["ALTER TABLE journal_entry DISABLE TRIGGER no_update_journal_entry"]
    else:
        changed = ["DROP TRIGGER no_update_journal_entry",
                   "CREATE TRIGGER no_update_journal_entry BEFORE UPDATE ON journal_entry BEGIN SELECT 1; END"]
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        for statement in changed:
            raw.execute(sa.text(statement))
    assert [one for one in verify().troubles if "no_update_journal_entry" in one] != []


def test_a_statement_past_the_records_is_sealed_too(an_order: int) -> None:
    """The place of a photo in its row is changed by a statement, not through the object."""
    with transaction():
        key = photo(session().get_one(RepairOrder, an_order)).id
    with transaction() as current:
        current.execute(sa.update(Photo).where(Photo.id == key).values(position=9))
    assert [one for one in verify().troubles if one.startswith("photo ")] == []


def test_what_was_rolled_back_is_not_sealed(an_order: int) -> None:
    before = seals.last_seals(session().connection())
    with pytest.raises(RuntimeError), transaction():
        factories.order()
        session().flush()
        raise RuntimeError
    assert seals.last_seals(session().connection()) == before and verify().troubles == ()


def test_every_row_of_a_whole_life_is_sealed_as_it_stands(whole_shop: WholeShop) -> None:
    with opened(whole_shop.data) as app, app.app_context():
        assert list(seals.compared(session().connection())) == []
        kept = seals.last_seals(session().connection())
        assert {name.split()[0] for name in kept} > {"amp", "finding", "removal", "reading", "issued_document", "step_record"} \
            and len(kept) > 2000


def test_a_damage_is_carried_forward_as_one(an_order: int) -> None:
    """A migration seals anew what was as sealed before it; what was not, it must not make good."""
    past_tagstrip("UPDATE customer SET phone = '555 9999' WHERE id = 1")
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        untrue = {name for name, _ in seals.compared(raw)}
        triggers.lift(raw)
        raw.execute(sa.text("UPDATE amp SET serial = serial || ' (as marked)'"))
        raw.execute(sa.text("UPDATE customer SET email = 'moved@harrowmere.example'"))
        triggers.protect(raw)
        seals.seal_everything(raw, but=untrue, now=clock.now(), reason="carried")
    found = [one for one in verify().troubles if "last saved" in one]
    assert found == ["customer 1 is not as it was last saved"]


def test_seals_come_with_a_backup(an_order: int, context: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    past_tagstrip("UPDATE amp SET serial = 'altered' WHERE id = 1")
    backup(tmp_path / "kept.tar")
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    restore(tmp_path / "kept.tar", tmp_path / "again")
    other = create_app(configure(tmp_path / "again", f"sqlite:///{tmp_path / 'again' / 'tagstrip.db'}"))
    with closing(other.extensions["tagstrip_db"]), other.app_context():
        assert [one for one in verify().troubles if "last saved" in one] == ["amp 1 is not as it was last saved"]
