"""A restore is there as a whole or not at all, on either engine, however it is ended; and what it made verifies."""

from __future__ import annotations

import os
import subprocess
import sys
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate
from app.backup import restore as restoring
from app.backup.archive import check
from app.backup.backup import backup
from app.cli import main
from app.db import database, make_engine, transaction
from app.photos.store import FolderStore, the_store
from tests import factories, postgres
from tests.faults.shop import ROOT

KILLED = """
import os, signal, sys
import sqlalchemy as sa
from app.cli import main
when = sys.argv.pop(1)
def end(*_):
    os.kill(os.getpid(), signal.SIGKILL)
if when == "before the commit":
    sa.event.listen(sa.Engine, "commit", lambda connection: end() if connection.get_execution_options().get("writing") else None)
elif when == "after the commit":
    from app.backup import restore
    restore.config.database_is_there = end  # what follows the commit first
else:
    from app.backup import rows
    whole, tables = rows.load, []
    rows.load = lambda *given: (tables.append(1), end() if len(tables) == 40 else whole(*given))
sys.exit(main(sys.argv[1:]))
"""


@pytest.fixture
def kept(context: Flask, tmp_path: Path) -> Path:
    """A backup of a small shop with a file."""
    with transaction():
        factories.order()
    the_store().put(b"some picture")
    backup(tmp_path / "kept.tar")
    return tmp_path / "kept.tar"


@pytest.fixture
def target(engine_name: str, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Where to restore: an empty database on PostgreSQL, or nowhere but the data folder ("")."""
    if engine_name == "sqlite":
        monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
        yield ""
        return
    address, _ = request.getfixturevalue("postgres_templates")
    name = f"r{uuid.uuid4().hex}"
    postgres.command(address, f"CREATE DATABASE {name}")
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", f"{address}/{name}")
    yield f"{address}/{name}"
    postgres.command(address, f"DROP DATABASE {name} WITH (FORCE)")


def tables_in(target: str) -> list[str]:
    """The tables of the target; none if it is a folder that is not there."""
    if not target:
        return []
    engine = make_engine(target)
    with engine.connect() as connection:
        found = sa.inspect(connection).get_table_names()
    engine.dispose()
    return found


def killed(when: str, *words: str) -> int:
    done = subprocess.run([sys.executable, "-c", KILLED, when, *words], cwd=ROOT, env=dict(os.environ), capture_output=True,
                          timeout=200)
    return done.returncode


@pytest.mark.parametrize("when", ["before the commit", "while rows are loaded"])
def test_killed_before_its_end_it_leaves_the_place_and_the_database_as_empty_as_before(
        kept: Path, target: str, tmp_path: Path, when: str) -> None:
    new = tmp_path / "again"
    assert killed(when, "restore", str(kept), "--data", str(new)) == -9
    assert not new.exists() and tables_in(target) == []
    assert main(["restore", str(kept), "--data", str(new)]) == 0
    whole(kept, new)


def test_killed_between_database_and_folder_the_same_command_finishes_it(
        kept: Path, target: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    new = tmp_path / "again"
    assert killed("after the commit", "restore", str(kept), "--data", str(new)) == -9
    assert not new.exists() and (tmp_path / "again.restoring").is_dir()
    assert main(["restore", str(kept), "--data", str(new)]) == 0
    whole(kept, new)


def whole(kept: Path, new: Path) -> None:
    """Everything is there and verifies, nothing is left beside it, and its root is the backup's."""
    assert sorted(path.name for path in new.parent.iterdir() if path.name.startswith("again")) == ["again"]
    assert not (new / restoring.FILLED).exists()
    assert main(["verify", "--data", str(new)]) == 0
    assert main(["backup", str(new.parent / "second.tar"), "--data", str(new)]) == 0
    assert check(new.parent / "second.tar").root == check(kept).root


FAILURES: dict[str, Callable[[pytest.MonkeyPatch], None]] = {
    "a table cannot be loaded": lambda patch: patch.setattr(restoring.rows, "load", failing),
    "a file cannot be written": lambda patch: patch.setattr(FolderStore, "keep_blocks", failing),
    "the counters cannot be set": lambda patch: patch.setattr(restoring.remembered, "restored", failing),
    "the search cannot be described": lambda patch: patch.setattr(migrate, "_describe_for_search", failing),
    "what was loaded reads otherwise": lambda patch: patch.setattr(restoring, "_hash", lambda *_: "0" * 64),
}


def failing(*_: object) -> None:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("what", FAILURES)
def test_an_error_leaves_nothing_and_is_said_in_words(
        kept: Path, target: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str,
        capsys: pytest.CaptureFixture[str]) -> None:
    with monkeypatch.context() as patch:
        FAILURES[what](patch)
        assert main(["restore", str(kept), "--data", str(tmp_path / "again")]) == 1
    said = capsys.readouterr().err
    assert ("No space left" in said or "does not read as it stands" in said) and "Traceback" not in said
    assert not (tmp_path / "again").exists() and not (tmp_path / "again.restoring").exists() and tables_in(target) == []


@pytest.mark.parametrize("engine_name", ["postgresql"])
def test_a_database_that_is_not_empty_is_left_as_it_is(kept: Path, tmp_path: Path, furnished_url: str,
                                                       monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", furnished_url)
    asked = sa.text("SELECT count(*), max(hash) FROM journal_entry")
    with database().engine.connect() as connection:
        before = connection.execute(asked).one()
    assert main(["restore", str(kept), "--data", str(tmp_path / "again")]) == 1
    assert "is not empty" in capsys.readouterr().err and not (tmp_path / "again").exists()
    with database().engine.connect() as connection:
        assert connection.execute(asked).one() == before


def test_a_store_that_others_use_keeps_what_is_whole(kept: Path, target: str, tmp_path: Path, context: Flask,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    """The backup holds a rotten file; the store into which it is restored holds the same one whole."""
    sha256 = the_store().put(b"some picture")
    (the_store().root / sha256[:2] / sha256).write_bytes(b"rotten")
    backup(tmp_path / "rotten.tar")
    shared = FolderStore(tmp_path / "shared")
    shared.put(b"some picture")
    monkeypatch.setenv("TAGSTRIP_PHOTO_URL", shared.root.as_uri())
    assert main(["restore", str(tmp_path / "rotten.tar"), "--data", str(tmp_path / "again")]) == 0
    assert shared.get(sha256) == b"some picture"
