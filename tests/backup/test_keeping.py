from __future__ import annotations

import io
import tarfile
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import create_app
from app.backup.archive import check
from app.backup.backup import backup
from app.backup.restore import restore
from app.backup.verify import verify
from app.db import database, session, transaction
from app.errors import BadInput
from app.orders.models import RepairOrder
from app.photos.store import the_store
from tests import factories
from tests.conftest import configure
from tests.factories import NOW
from tests.orders import steps


def test_verify_finds_an_altered_entry_and_an_altered_file(context: Flask) -> None:
    with transaction():
        factories.order()
    kept = the_store().put(b"some picture")
    clean = verify()
    assert clean.files == 1 and [t for t in clean.troubles if "belong to no record" not in t] == []
    path = next(p for p in (context.config["DATA"] / "photos").glob("??/*"))
    path.write_bytes(b"another picture")
    assert any(kept in t for t in verify().troubles)


def test_journal_cannot_be_changed_and_nothing_is_deleted(context: Flask) -> None:
    with transaction():
        factories.order()
    for statement in ("UPDATE journal_entry SET reason = 'x'", "DELETE FROM journal_entry", "DELETE FROM repair_order",
                      "DELETE FROM customer"):
        with pytest.raises(sa.exc.DatabaseError, match="is refused"), transaction() as current:
            current.execute(sa.text(statement))


def test_verify_names_a_tampered_entry(context: Flask) -> None:
    with transaction():
        factories.order()
    engine = database().engine
    drop = "DROP TRIGGER no_update_journal_entry" + (" ON journal_entry" if engine.dialect.name == "postgresql" else "")
    session().rollback()
    with engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text(drop))
        raw.execute(sa.text("UPDATE journal_entry SET person_name = 'nobody' WHERE seq = 3"))
    assert "journal entry 3 was altered after it was written" in verify().troubles


def test_verify_misses_the_end_of_the_journal_that_a_paper_pins(context: Flask) -> None:
    """What is left after the end of a chain was cut off is a whole chain: only what was printed knows better."""
    with transaction():
        order_id = factories.order().id
    with transaction():
        steps.reported(session().get_one(RepairOrder, order_id), NOW)
    whole = verify()
    session().rollback()
    drop = "DROP TRIGGER no_delete_journal_entry" + (" ON journal_entry" if database().engine.dialect.name == "postgresql" else "")
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text(drop))
        raw.execute(sa.text("DELETE FROM journal_entry WHERE seq >= (SELECT max(seq) - 2 FROM journal_entry)"))
    found = [one for one in verify().troubles if one not in whole.troubles]
    assert "issued_document 1 was issued after a journal entry that is not there" in found
    assert "issued_document 1 has no seal in the journal" in found


def test_backup_restores_to_the_same_rows(context: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with transaction():
        number = factories.order().number
    the_store().put(b"some picture")
    file = tmp_path / "kept.tar"
    backup(file)
    with pytest.raises(BadInput, match="there already"):
        backup(file)
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    again = tmp_path / "again"
    restore(file, again)
    other = create_app(configure(again, f"sqlite:///{again / 'tagstrip.db'}"))
    with closing(other.extensions["tagstrip_db"]), other.app_context():
        assert [t for t in verify().troubles if "belong to no record" not in t] == []
        assert session().execute(sa.text("SELECT max(number) FROM repair_order")).scalar() == number
        second = tmp_path / "second.tar"
        backup(second)
    first, again_told = check(file), check(second)
    assert first.root == again_told.root and first.list_sha256 == again_told.list_sha256
    assert first.journal_head == again_told.journal_head
    with pytest.raises(BadInput, match="not empty"):
        restore(file, again)


@pytest.mark.parametrize("name", ["../evil", "/abs", "tables/x.jsonl/../../y", "C:\\evil", "files/zz"])
def test_foreign_names_are_refused_before_anything_is_written(tmp_path: Path, name: str) -> None:
    bad = tmp_path / "bad.tar"
    with tarfile.open(bad, "w:") as archive:
        info = tarfile.TarInfo(name)
        info.size = 4
        archive.addfile(info, io.BytesIO(b"evil"))
    with pytest.raises(BadInput, match="not part of a Tagstrip backup"):
        restore(bad, tmp_path / "new")
    assert not (tmp_path / "new").exists() and not (tmp_path / "new.restoring").exists()


def test_links_and_cut_files_are_refused(tmp_path: Path) -> None:
    link = tmp_path / "link.tar"
    with tarfile.open(link, "w:") as archive:
        info = tarfile.TarInfo("manifest.json")
        info.type, info.linkname = tarfile.SYMTYPE, "/etc/passwd"
        archive.addfile(info)
    cut = tmp_path / "cut.tar"
    cut.write_bytes(b"not a tar at all" * 100)
    for path in (link, cut):
        with pytest.raises(BadInput):
            restore(path, tmp_path / "new")
