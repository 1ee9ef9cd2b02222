"""The file itself: read by others' programs, its root worked out by them, and written without holding it in memory."""

from __future__ import annotations

import random
import subprocess
import tarfile
import tracemalloc
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup import archive, rows, tar
from app.backup.backup import backup
from app.backup.restore import restore
from app.db import database, transaction
from app.photos.store import the_store
from tests import factories

MIB = 1 << 20


@pytest.fixture
def kept(context: Flask, tmp_path: Path) -> Path:
    with transaction():
        factories.order()
    the_store().put(b"some picture")
    the_store().put(b"")
    backup(tmp_path / "kept.tar")
    return tmp_path / "kept.tar"


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_gnu_tar_and_the_standard_library_read_it(kept: Path, tmp_path: Path) -> None:
    told = [one.name for one in members(kept)]
    listed = subprocess.run(["tar", "-tf", str(kept)], check=True, capture_output=True, text=True)
    assert listed.stdout.splitlines() == told and listed.stderr == ""
    with tarfile.open(kept, "r:") as read:
        assert [one.name for one in read] == told and all(one.isreg() and one.mode == 0o600 for one in read.getmembers())
    assert told[-2:] == ["members.jsonl", "manifest.json"]


def test_coreutils_work_out_the_same_root(kept: Path, tmp_path: Path) -> None:
    """`sha256sum` of GNU coreutils over every file and table, sorted by name, and over those lines: as README.md says."""
    (tmp_path / "out").mkdir()
    subprocess.run(["tar", "-xf", str(kept), "-C", str(tmp_path / "out")], check=True)
    line = "find files tables -type f | LC_ALL=C sort | xargs sha256sum | sha256sum | cut -d ' ' -f 1"
    found = subprocess.run(["sh", "-c", line], check=True, capture_output=True, text=True, cwd=tmp_path / "out").stdout.strip()
    assert found == archive.check(kept).root


def members(path: Path) -> list[tar.Member]:
    with path.open("rb") as file:
        return [*tar.members(file)]


def test_a_size_that_octal_cannot_say_is_written_as_gnu_tar_does() -> None:
    """GNU tar's manual, "Basic Tar Format": a size that has no room is in base 256, its first bit set. The library reads it."""
    huge = 9 << 30
    header = tar._header("files/x", huge)
    assert tarfile.TarInfo.frombuf(header, "utf-8", "strict").size == huge and tar._read(header, 512).size == huge


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_neither_a_large_file_nor_a_large_table_is_held_in_memory(
        context: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """40 MiB of files, one of 24, and 20 MiB of rows, through a window of a few: written and read back."""
    monkeypatch.setattr(rows, "AT_ONCE", 50)
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text("CREATE TABLE large (id INTEGER PRIMARY KEY, words TEXT)"))
        raw.execute(sa.text("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2000) "
                            "INSERT INTO large SELECT i, printf('%.*c', 10000, 'x') FROM n"))
    chance = random.Random(1)
    the_store().keep_blocks("0" * 64, (chance.randbytes(MIB) for _ in range(24)))
    for _ in range(16):
        the_store().put(chance.randbytes(MIB))
    tracemalloc.start()
    try:
        backup(tmp_path / "kept.tar")
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert (tmp_path / "kept.tar").stat().st_size > 59 * MIB and peak < 12 * MIB, peak / MIB


def test_there_is_no_limit_to_the_members_and_no_list_of_them_in_memory(tmp_path: Path) -> None:
    """Each empty, so that only their number counts: the standard library keeps some 1,000 bytes for every member."""
    many = 20_000
    with (tmp_path / "many.tar").open("w+b") as file:
        tracemalloc.start()
        try:
            writer = archive.Writer(file)
            for number in range(many):
                writer.add(f"files/{number:064x}", ())
            manifest = writer.end("0001", "2026-03-02T09:30:00+00:00", "", ())
            file.flush()
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
    assert peak < 4 * MIB, peak / MIB
    assert manifest.members == many and archive.check(tmp_path / "many.tar").root == manifest.root


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_one_altered_byte_of_any_member_is_named(kept: Path) -> None:
    whole = kept.read_bytes()
    for member in members(kept):
        if member.size:
            spoilt = bytearray(whole)
            spoilt[member.at + member.size // 2] ^= 1
            kept.write_bytes(spoilt)
            with pytest.raises(archive.BadInput, match=member.name.split(".")[0]):
                archive.check(kept)
    kept.write_bytes(whole)
    archive.check(kept)


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_a_value_that_is_none_of_its_column_s_kind_is_kept_and_said_when_restored(
        context: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    with transaction():
        factories.order()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        raw.execute(sa.text("UPDATE repair_order SET opened_at = 'some day'"))
    backup(tmp_path / "kept.tar")
    with pytest.raises(archive.BadInput, match="damaged when it was made.*some day.*Nothing was restored"):
        restore(tmp_path / "kept.tar", tmp_path / "again")
    assert not (tmp_path / "again.restoring").exists()
    with (tmp_path / "kept.tar").open("rb") as file:
        orders = next(one for one in tar.members(file) if one.name == "tables/repair_order.jsonl")
        assert [row["opened_at"] for row in archive.rows(orders.name, tar.content(file, orders))] == ["some day"]


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_a_file_that_cannot_be_read_is_named_and_the_rest_is_kept(context: Flask, tmp_path: Path) -> None:
    there, gone = the_store().put(b"some picture"), "f" * 64
    (the_store().root / "ff").mkdir()
    (the_store().root / "ff" / gone).mkdir()  # opening it fails, as it does on a bad disk
    made = backup(tmp_path / "kept.tar")
    assert [one for one in made.troubles if gone in one and "not in this backup" in one] and made.files == 1
    assert f"files/{there}" in [one.name for one in members(tmp_path / "kept.tar")]
