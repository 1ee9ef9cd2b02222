"""Somebody who can write the database and the files alters them: what is named. On either engine, after a restore too."""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import create_app
from app.backup import anchor
from app.backup.backup import backup
from app.backup.restore import restore
from app.backup.verify import verify
from app.cli import main
from app.db import database, session, transaction
from app.journal import seals, triggers
from app.journal.rules import entry_hash
from app.journal.service import stamp
from app.photos.store import the_store
from tests import factories, postgres
from tests.conftest import configure
from tests.factories import NOW


@pytest.fixture
def shop(context: Flask) -> Flask:
    """A small shop with two files."""
    with transaction():
        factories.order()
    the_store().put(b"one picture")
    the_store().put(b"another picture")
    return context


def act(words: str, **given: object) -> None:
    """Past Tagstrip, and past its triggers."""
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        triggers.lift(raw)
        raw.execute(sa.text(words), given)
        triggers.protect(raw)


def drop(name: str, table: str) -> None:
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text(f"DROP TRIGGER {name}" + (f" ON {table}" if raw.dialect.name == "postgresql" else "")))


def swap() -> None:
    one, two = [the_store().root / sha256[:2] / sha256 for sha256 in the_store().all()]
    first, second = one.read_bytes(), two.read_bytes()
    one.write_bytes(second)
    two.write_bytes(first)


def extra_trigger() -> None:
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        if raw.dialect.name == "sqlite":
            raw.execute(sa.text("CREATE TRIGGER helper AFTER INSERT ON customer BEGIN UPDATE customer SET phone = ''; END"))
        else:
            raw.execute(sa.text("CREATE FUNCTION helper() RETURNS trigger AS $$ BEGIN RETURN NULL; END $$ LANGUAGE plpgsql"))
            raw.execute(sa.text("CREATE TRIGGER helper BEFORE INSERT ON customer FOR EACH ROW EXECUTE FUNCTION helper()"))


ATTACKS: dict[str, tuple[Callable[[], None], str]] = {
    "an altered row": (lambda: act("UPDATE customer SET phone = '0'"), "customer 1 is not as it was last saved"),
    "a row put in": (lambda: act("INSERT INTO customer (name, phone, email, address, note, added_at) "
                                 "VALUES ('x', '1', '', '', '', '2026-03-02 09:30:00.000000')"),
                     "customer 2 has no seal in the journal"),
    "a row taken out": (lambda: act("DELETE FROM shop"), "shop 1 is gone"),
    "a dropped trigger": (lambda: drop("no_update_journal_entry", "journal_entry"),
                          "the trigger no_update_journal_entry, which refuses what must not be done, is not there or was changed"),
    "a trigger more": (extra_trigger, "a trigger helper on customer that Tagstrip did not make"),
    "a swapped file": (swap, "is not what was stored"),
    "an emptied journal": (lambda: act("DELETE FROM journal_entry"), "the journal was emptied"),
    "the journal's end cut off": (lambda: act(
        "DELETE FROM journal_entry WHERE seq = (SELECT max(seq) FROM journal_entry)"), "has no seal in the journal"),
    "the journal's middle cut out": (lambda: act("DELETE FROM journal_entry WHERE seq = 3"), "entries 3 to 3 are missing"),
    "an altered entry": (lambda: act("UPDATE journal_entry SET person_name = 'nobody' WHERE seq = 2"),
                         "journal entry 2 was altered"),
    "an index gone": (lambda: act("DROP INDEX ix_customer_name"), "the index ix_customer_name of customer is not there"),
}
ON_POSTGRESQL = {
    "a trigger switched off": (lambda: act_with_triggers("ALTER TABLE customer DISABLE TRIGGER no_delete_customer"),
                               "no_delete_customer, which refuses"),
    "all triggers switched off": (lambda: act_with_triggers("ALTER TABLE customer DISABLE TRIGGER ALL"),
                                  "no_delete_customer, which refuses"),
    "a trigger that acts sometimes": (lambda: act_with_triggers(
        "CREATE OR REPLACE TRIGGER no_delete_customer BEFORE DELETE ON customer FOR EACH ROW WHEN (old.id < 0) "
        "EXECUTE FUNCTION tagstrip_refuse()"), "no_delete_customer, which refuses"),
    "a refusal that refuses nothing": (lambda: act_with_triggers(
        "CREATE OR REPLACE FUNCTION tagstrip_refuse() RETURNS trigger AS $$ BEGIN RETURN OLD; END $$ LANGUAGE plpgsql"),
        "a function tagstrip_refuse that Tagstrip did not make"),
    "a rule instead": (lambda: act_with_triggers("CREATE RULE quiet AS ON UPDATE TO customer DO INSTEAD NOTHING"),
                       "a rule quiet on customer"),
}


def act_with_triggers(words: str) -> None:
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text(words))


def named(attack: Callable[[], None], said: str) -> None:
    before = verify()
    assert before.troubles == (), before.troubles
    attack()
    session().rollback()
    found = verify().troubles
    assert [one for one in found if said in one], found


@pytest.mark.parametrize("what", ATTACKS)
def test_every_attack_is_named(shop: Flask, what: str) -> None:
    named(*ATTACKS[what])


@pytest.mark.parametrize("what", ON_POSTGRESQL)
@pytest.mark.parametrize("engine_name", ["postgresql"])
def test_what_only_postgresql_allows_is_named_too(shop: Flask, what: str) -> None:
    named(*ON_POSTGRESQL[what])


@pytest.fixture
def moved(shop: Flask, engine_name: str, tmp_path: Path, request: pytest.FixtureRequest,
          monkeypatch: pytest.MonkeyPatch) -> Iterator[Flask]:
    """The same shop restored on the other engine."""
    made = backup(tmp_path / "kept.tar")
    url, name = f"sqlite:///{tmp_path / 'again' / 'tagstrip.db'}", f"m{uuid.uuid4().hex}"
    if engine_name == "sqlite":
        address, _ = request.getfixturevalue("postgres_templates")
        postgres.command(address, f"CREATE DATABASE {name}")
        url = f"{address}/{name}"
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    if engine_name == "sqlite":
        monkeypatch.setenv("TAGSTRIP_DATABASE_URL", url)
    restore(tmp_path / "kept.tar", tmp_path / "again")
    other = create_app(configure(tmp_path / "again", url))
    with closing(other.extensions["tagstrip_db"]), other.app_context():
        other.config["ROOT_OF_BACKUP"] = made.root
        yield other
    if engine_name == "sqlite":
        postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")


def test_a_shop_moved_to_the_other_engine_has_the_same_root_and_head(shop: Flask, moved: Flask) -> None:
    with moved.app_context():
        found = verify()
    with shop.app_context():
        before = verify()
    assert found.troubles == () and (found.root, found.newest) == (before.root, before.newest)
    assert found.root == moved.config["ROOT_OF_BACKUP"]


@pytest.mark.parametrize("what", ["an altered row", "a dropped trigger", "a swapped file", "the journal's end cut off"])
def test_every_attack_is_named_after_a_move_to_the_other_engine_too(moved: Flask, what: str) -> None:
    named(*ATTACKS[what])


def rehash(altered: dict[int, str]) -> None:
    """Alter who did these entries, and hash all entries and their seals anew, so that the chain holds again."""
    session().rollback()
    entry = sa.Table("journal_entry", sa.MetaData(), autoload_with=database().engine)
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        triggers.lift(raw)
        previous = "0" * 64
        for row in [dict(one._mapping) for one in raw.execute(sa.select(entry).order_by(entry.c.seq))]:
            row["person_name"] = altered.get(row["seq"], row["person_name"])
            at = row["at"].replace(tzinfo=NOW.tzinfo)
            fresh = entry_hash(previous, row | {"at": stamp(at)})
            raw.execute(entry.update().where(entry.c.seq == row["seq"]).values(
                person_name=row["person_name"], previous_hash=previous, hash=fresh))
            previous = fresh
        triggers.protect(raw)


def anchored(path: Path) -> anchor.Anchored:
    session().rollback()
    asked = sa.text("SELECT hash FROM journal_entry WHERE seq = :seq")
    return anchor.compared(path, lambda seq: session().scalar(asked, {"seq": seq}))


def test_a_rewritten_history_that_holds_in_itself_is_named_by_the_anchor(shop: Flask, tmp_path: Path) -> None:
    found = verify()
    anchor.add(tmp_path / "anchor.txt", *found.newest, found.root, NOW)
    with transaction():
        factories.customer("Somebody else")
    found = verify()
    anchor.add(tmp_path / "anchor.txt", *found.newest, found.root, NOW)
    assert anchored(tmp_path / "anchor.txt") == anchor.Anchored(2, ())
    rehash({2: "nobody"})
    assert verify().troubles == ()  # the chain and the seals were all made anew: nothing inside the shop knows
    told = anchored(tmp_path / "anchor.txt").troubles
    assert len(told) == 2 and all("the journal was altered" in one for one in told)


def test_a_shortened_history_is_named_by_the_anchor(shop: Flask, tmp_path: Path) -> None:
    found = verify()
    anchor.add(tmp_path / "anchor.txt", *found.newest, found.root, NOW)
    act("DELETE FROM journal_entry WHERE seq = :seq", seq=found.newest[0])
    assert "the journal was shortened" in anchored(tmp_path / "anchor.txt").troubles[0]


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_the_command_adds_a_line_a_run_and_none_to_a_history_that_does_not_fit(
        shop: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    session().rollback()
    file, words = tmp_path / "anchor.txt", ["verify", "--data", str(shop.config["DATA"]), "--anchor", str(tmp_path / "anchor.txt")]
    assert [main(words), main(words)] == [0, 0]
    out = capsys.readouterr().out
    assert "there was nothing to compare with" in out and "1 earlier line" in out and "Root of all tables and files: " in out
    with file.open("a") as unfinished:
        unfinished.write("2026-03-02T09:3")  # a run that was killed while it wrote
    assert main(words) == 0 and len(file.read_text().splitlines()) == 4
    rehash({2: "nobody"})
    before = file.read_text()
    assert main(words) == 1 and file.read_text() == before
    assert "the journal was altered" in capsys.readouterr().out
    file.write_text("somebody's shopping\n" + before)
    assert main(words) == 1 and "is none that Tagstrip wrote" in capsys.readouterr().out
    assert main([*words[:-1], str(tmp_path)]) == 1
    assert "is no file" in capsys.readouterr().err and os.environ.get("TAGSTRIP_DATABASE_URL") is None


def test_seals_are_what_the_cases_rest_on(shop: Flask) -> None:
    assert seals.last_seals(session().connection())
