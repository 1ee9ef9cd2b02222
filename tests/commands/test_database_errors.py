"""Whatever is wrong with the database, each command says it in words, with what to do, and ends with 1."""

from __future__ import annotations

import io
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
import sqlalchemy as sa

from app import db
from app.cli import main
from app.commands import opening
from app.commands.troubles import in_words
from tests.faults.shop import ROOT


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, object], monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    monkeypatch.setattr(db, "BUSY_SECONDS", 0.2)
    monkeypatch.setattr(opening, "BUSY_SECONDS", 0.2)
    data = tmp_path / "shop"
    data.mkdir()
    shutil.copy(sqlite_templates[1], data / "tagstrip.db")
    (tmp_path / "customers.csv").write_text("name,phone\nOtto Fennimore,555 0199\n")
    return data


def commands(shop: Path) -> dict[str, list[str]]:
    out = shop.parent
    return {"verify": ["verify"], "backup": ["backup", str(out / "x.tar")], "export": ["export", str(out / "x")],
            "import": ["import", str(out / "customers.csv")], "migrate": ["migrate"],
            "user": ["user", "add", "--name", "Ines", "--role", "technician"]}


def garbage(shop: Path) -> None:
    (shop / "tagstrip.db").write_bytes(b"this is no database at all " * 1000)


def cut_off(shop: Path) -> None:
    with (shop / "tagstrip.db").open("r+b") as file:
        file.truncate(20_000)


def torn(shop: Path) -> None:
    with (shop / "tagstrip.db").open("r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * 40_000)


def a_folder(shop: Path) -> None:
    (shop / "tagstrip.db").unlink()
    (shop / "tagstrip.db").mkdir()


def emptied(shop: Path) -> None:
    with closing(sqlite3.connect(shop / "tagstrip.db")) as raw:
        raw.execute("DROP TABLE customer")


WRONG: dict[str, Callable[[Path], None]] = {
    "garbage": garbage, "cut off": cut_off, "torn": torn, "a folder": a_folder, "a table is gone": emptied}


@pytest.mark.parametrize("command", ["verify", "backup", "export", "import", "migrate", "user"])
@pytest.mark.parametrize("what", WRONG)
def test_a_damaged_database_is_said_in_words_by_every_command(
        shop: Path, what: str, command: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO())  # where a password is asked for, none comes
    WRONG[what](shop)
    if (what, command) == ("a table is gone", "migrate"):
        return  # it stands at the newest schema: there is nothing to do, and nothing of it is read
    assert main([*commands(shop)[command], "--data", str(shop)]) == 1
    err = capsys.readouterr().err
    assert err.startswith("tagstrip: ") and len(err.strip().splitlines()) == 1, err


@contextmanager
def locked(shop: Path) -> Iterator[None]:
    with closing(sqlite3.connect(shop / "tagstrip.db", isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        yield
        other.execute("ROLLBACK")


@pytest.mark.parametrize("command", ["verify", "import"])
def test_a_locked_database_is_said_so(shop: Path, command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with locked(shop):
        assert main([*commands(shop)[command], "--data", str(shop)]) == 1
    assert "another program holds it" in capsys.readouterr().err


@pytest.mark.skipif(os.getuid() != 0, reason="only root can become somebody else to find that nothing may be read")
def test_no_right_to_read_is_said_so(shop: Path) -> None:
    """As a user who may enter the folder and not read the file. Root may read everything, so a process gives that up."""
    (shop / "tagstrip.db").chmod(0)
    shop.chmod(0o755)
    for above in shop.parents:
        if above.stat().st_uid == 0 and str(above).startswith(("/dev/shm/", "/tmp/pytest")):  # noqa: S108 - of this run
            above.chmod(0o755)
    line = ("import os, sys; from app.commands import keeping; import app.factory; os.setgid(65534); os.setuid(65534); "
            "from app.cli import main; sys.exit(main(sys.argv[1:]))")
    done = subprocess.run([sys.executable, "-c", line, "verify", "--data", str(shop)], cwd=ROOT, capture_output=True, text=True,
                          timeout=100)
    assert done.returncode == 1 and len(done.stderr.strip().splitlines()) == 1, done.stderr


@pytest.mark.parametrize(("url", "said"), [
    ("nonsense", "is no address of"), ("mysql://somebody@localhost/x", "is no address of"),
    ("postgresql://nobody@127.0.0.1:9/none", "does not answer")])
def test_an_address_that_is_none_is_said_in_words(
        shop: Path, url: str, said: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", url)
    assert main(["verify", "--data", str(shop)]) == 1
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("command", ["backup", "export"])
def test_a_full_disk_is_said_before_and_leaves_nothing(
        shop: Path, command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    full = shutil.disk_usage(shop)._replace(free=1000)
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: full)
    assert main([*commands(shop)[command], "--data", str(shop)]) == 1
    assert "There is no room in" in capsys.readouterr().err
    assert sorted(path.name for path in shop.parent.iterdir()) == ["customers.csv", "shop"]


def test_sqlite_s_own_words_are_known() -> None:
    """What SQLite says, as its documentation of result codes lists it: SQLITE_BUSY, FULL, READONLY, CANTOPEN, CORRUPT, NOTADB."""
    for said in ("database is locked", "database or disk is full", "attempt to write a readonly database",
                 "unable to open database file", "database disk image is malformed", "file is not a database"):
        words = in_words(sa.exc.OperationalError("SELECT 1", {}, sqlite3.OperationalError(said)))
        assert words is not None and said in words and len(words) > len(said) + 60, words
    assert in_words(ValueError("something else")) is None
