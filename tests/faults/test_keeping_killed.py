"""kill -9 while everything is written into one file, and while a shop is made from one."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app import migrate
from app.backup import tar
from app.backup.archive import check
from app.db import make_engine
from app.errors import BadInput
from app.photos.store import FolderStore
from tests.faults.shop import ROOT
from tests.migrations import old_shops

pytestmark = pytest.mark.fault
KILLS = 2


def start(*words: str) -> subprocess.Popen[bytes]:
    env = {name: value for name, value in os.environ.items() if not name.startswith("TAGSTRIP_")}
    return subprocess.Popen([sys.executable, "-m", "app.cli", *words], cwd=ROOT, env=env, stdout=subprocess.DEVNULL,
                            stderr=subprocess.PIPE)


def finish(*words: str) -> None:
    process = start(*words)
    said = process.communicate(timeout=100)[1]
    assert process.returncode == 0, said.decode()


def killed(process: subprocess.Popen[bytes], sign: Path, after: float) -> bool:
    """Kill it `after` seconds from when `sign` appears: it is then in the middle of its work. Whether it was still alive."""
    until = time.monotonic() + 60
    while not sign.exists() and process.poll() is None and time.monotonic() < until:
        time.sleep(0.002)
    time.sleep(after)
    alive = process.poll() is None
    process.kill()
    process.communicate()
    return alive


def files_in(path: Path) -> int:
    check(path)
    with path.open("rb") as file:
        return sum(one.name.startswith("files/") for one in tar.members(file))


def not_finished(path: Path) -> bool:
    """Whether the check that a restore makes refuses it."""
    try:
        check(path)
    except BadInput:
        return True
    return False


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, object]) -> Path:
    """A furnished shop with enough files that a moment can be hit."""
    data = tmp_path / "shop"
    data.mkdir()
    shutil.copy(sqlite_templates[1], data / "tagstrip.db")
    (data / "secret.key").write_text("a key for tests only, and long enough to be one")
    store, chance = FolderStore(data / "photos"), random.Random(1)
    for _ in range(60):
        store.put(chance.randbytes(200_000))
    return data


def test_a_killed_backup_leaves_nothing_that_looks_like_one(shop: Path, tmp_path: Path) -> None:
    chance, hits = random.Random(20260302), 0
    file = tmp_path / "kept.tar"
    part = tmp_path / "kept.tar.part"
    for turn in range(KILLS):
        after = chance.random() * 0.1 if turn else 0.0
        hits += killed(start("backup", str(file), "--data", str(shop)), part, after)
        if file.exists():
            check(file)  # whole, if it is there at all
            file.unlink()
        elif part.exists():
            assert not_finished(part) or files_in(part) == 60
    assert hits
    finish("backup", str(file), "--data", str(shop))
    assert not part.exists() and files_in(file) == 60


def test_a_killed_migration_leaves_the_older_schema_or_the_newer_and_can_be_run_again(tmp_path: Path) -> None:
    chance, hits = random.Random(20260304), 0
    data = tmp_path / "shop"
    data.mkdir()
    engine = make_engine(f"sqlite:///{data / 'tagstrip.db'}")
    old = old_shops.read(old_shops.kept()[0])
    old_shops.fill(engine, old)
    for turn in range(KILLS + 1):
        copy = tmp_path / f"before-{turn}.tar"
        process = start("migrate", "--data", str(data), "--backup", str(copy))
        killed(process, copy, chance.random() * 0.5)
        there = migrate.revision_of(engine)
        assert there in (old.revision, migrate.newest())
        hits += there == old.revision and copy.exists()
        with engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
            assert [len(rows) for rows in old_shops.taken(connection).values()].count(0) == 0
    assert hits
    finish("migrate", "--data", str(data), "--backup", str(tmp_path / "last.tar"))
    assert migrate.revision_of(engine) == migrate.newest()
    with engine.connect() as connection:
        entries = [one for one in old_shops.taken(connection)["journal_entry"] if one["event"] != "records:sealed"]
        assert len(entries) == len(old.tables["journal_entry"])
    engine.dispose()


def test_a_killed_restore_leaves_the_old_shop_and_can_be_run_again(shop: Path, tmp_path: Path) -> None:
    chance, hits = random.Random(20260303), 0
    file, new = tmp_path / "kept.tar", tmp_path / "again"
    finish("backup", str(file), "--data", str(shop))
    before = (shop / "tagstrip.db").read_bytes()
    for turn in range(KILLS):
        after = chance.random() * 0.6 if turn else 0.0
        hits += killed(start("restore", str(file), "--data", str(new)), tmp_path / "again.restoring", after)
        assert (shop / "tagstrip.db").read_bytes() == before
        if new.exists():  # it had just finished
            shutil.rmtree(new)
    assert hits
    finish("restore", str(file), "--data", str(new))
    assert not (tmp_path / "again.restoring").exists() and len(list((new / "photos").glob("??/*"))) == 60
