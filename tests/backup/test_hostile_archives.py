"""Restoring what somebody else made: refused in words, cheaply, before anything is written under the shop's name.

After OWASP ASVS 5.0, 5.2.3 and 5.3.2 (archives: sizes and entries before unpacking, no links), from memory of its text.
"""

from __future__ import annotations

import os
import shutil
import tarfile
import time
import tracemalloc
from pathlib import Path

import pytest

from app.backup import room
from app.backup.archive import check
from app.backup.restore import restore
from app.errors import BadInput, RuleBroken
from tests.backup import hostile

MIB = 1 << 20


@pytest.mark.parametrize("name", hostile.CASES)
def test_a_foreign_archive_is_refused_in_words_and_cheaply(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    bad = hostile.CASES[name](tmp_path / "bad.tar")
    with pytest.raises(RuleBroken, match="Nothing was restored") as refused:
        restore(bad, tmp_path / "new")
    assert str(tmp_path / "new") not in refused.value.words
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bad.tar"]


@pytest.mark.parametrize("name", [name for name in hostile.CASES if "GiB" in name or "said by" in name])
def test_what_an_archive_claims_takes_neither_memory_nor_time(name: str, tmp_path: Path) -> None:
    bad = hostile.CASES[name](tmp_path / "bad.tar")
    tracemalloc.start()
    began = time.monotonic()
    try:
        with pytest.raises(BadInput):
            check(bad)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert time.monotonic() - began < 5 and peak < 4 * MIB, peak


def test_the_cases_are_what_they_say() -> None:
    assert hostile.tobuf_is_enough()


def test_a_whole_archive_of_the_first_format_is_still_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The counterpart: the cases above fail for what is wrong in them, and for nothing else."""
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    members = [hostile.picture(number) for number in range(3)]
    good = hostile.write(tmp_path / "good.tar", hostile.whole(*sorted(members, key=lambda one: one[0].name)))
    restore(good, tmp_path / "new")
    assert len(list((tmp_path / "new" / "photos").glob("??/*"))) == 3


def test_room_is_looked_at_before_anything_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    good = hostile.write(tmp_path / "good.tar", hostile.whole(hostile.picture()))
    full = shutil.disk_usage(tmp_path)._replace(free=1000)
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _path: full)
    with pytest.raises(RuleBroken, match=r"(?s)no room.*free.*Nothing was restored"):
        restore(good, tmp_path / "new")
    assert not (tmp_path / "new.restoring").exists()


def test_a_six_gibibyte_hole_that_its_manifest_does_not_name_is_not_read(tmp_path: Path) -> None:
    """A sparse file on the disk: the bytes are there when asked for, and nobody asks."""
    member = hostile.picture()
    with (tmp_path / "hole.tar").open("wb") as file:
        file.write(hostile.entry(member[0].name, b"", size=6 * hostile.GIB)[0].tobuf(tarfile.GNU_FORMAT))
        file.seek(6 * hostile.GIB, os.SEEK_CUR)
        info, data = hostile.manifest([member])
        file.write(info.tobuf() + data + b"\0" * (-len(data) % 512) + b"\0" * 1024)
    began = time.monotonic()
    with pytest.raises(BadInput, match="6.4 GB"):
        restore(tmp_path / "hole.tar", tmp_path / "new")
    assert time.monotonic() - began < 5


def test_a_backup_of_a_newer_version_is_refused_by_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whole in every way; this version does not know what its tables mean."""
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    newer = hostile.write(tmp_path / "newer.tar", hostile.whole(hostile.picture(), revision="9998"))
    with pytest.raises(RuleBroken, match=r"newer Tagstrip \(schema 9998\)\. Use that version\. Nothing was restored"):
        restore(newer, tmp_path / "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["newer.tar"]
