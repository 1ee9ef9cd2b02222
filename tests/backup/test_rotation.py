"""Dated backups in a folder: what stays, what goes, and what the shop then says of its backups."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st

from app import clock
from app.backup import remembered, rotation
from app.backup.backup import Made
from app.backup.remembered import Kind
from app.cli import main
from app.db import database, transaction
from app.journal import service as journal
from app.photos.store import the_store
from tests import factories
from tests.pages import PageClient

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@given(st.dictionaries(st.integers(0, 99).map("shop-{:02}".format), st.booleans()), st.integers(1, 9))
def test_what_goes_has_so_many_newer_good_ones(good: dict[str, bool], keep: int) -> None:
    gone = rotation.to_go(good, keep)
    left = sorted(good.keys() - set(gone))
    assert sum(good[name] for name in left) == min(keep, sum(good.values()))
    assert all(sum(good[newer] for newer in left if newer > name) >= keep for name in gone)
    assert not any(sum(good[newer] for newer in left if newer > name) >= keep for name in left)


@pytest.fixture
def shop(context: Flask) -> Path:
    with transaction():
        factories.order()
    database().close()
    return Path(context.config["DATA"])


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """What the clock says: its one element."""
    now = [NOW]
    monkeypatch.setattr(clock, "now", lambda: now[0])
    return now


def kept(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*.tar"))


def night(at: list[datetime], shop: Path, folder: Path, keep: int = 2) -> int:
    at[0] += timedelta(days=1)
    return main(["backup", str(folder), "--keep", str(keep), "--data", str(shop)])


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_the_newest_good_ones_stay_and_nothing_of_others_goes(
        shop: Path, tmp_path: Path, at: list[datetime], capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "kept"
    folder.mkdir()
    (folder / "shop-by-hand.tar").write_bytes(b"somebody's own")
    (folder / "shop-20260301T000000Z.tar").write_bytes(b"dated as ours, and cannot be read back")
    assert [night(at, shop, folder) for _ in range(4)] == [1, 1, 1, 1]
    out, err = capsys.readouterr()
    assert kept(folder) == ["shop-20260301T000000Z.tar", "shop-20260305T093000Z.tar", "shop-20260306T093000Z.tar",
                            "shop-by-hand.tar"]
    assert "cannot be read back, and counts as none" in out and "Removed, as 2 newer good ones are there: shop-20260303" in out
    assert "is good" in err
    (folder / "shop-20260301T000000Z.tar").unlink()
    assert night(at, shop, folder) == 0


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_while_the_shop_is_damaged_nothing_goes_and_none_of_it_counts(
        shop: Path, tmp_path: Path, at: list[datetime], capsys: pytest.CaptureFixture[str]) -> None:
    folder, picture = tmp_path / "kept", the_store().put(b"some picture")
    assert night(at, shop, folder, 1) == 0
    (the_store().root / picture[:2] / picture).write_bytes(b"rotten")
    assert [night(at, shop, folder, 1) for _ in range(3)] == [1, 1, 1]
    assert kept(folder)[0] == "shop-20260303T093000Z.tar" and len(kept(folder)) == 4
    the_store().put(b"some picture")
    assert night(at, shop, folder, 1) == 0 and kept(folder) == ["shop-20260307T093000Z.tar"]


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_one_that_was_altered_since_counts_no_more(shop: Path, tmp_path: Path, at: list[datetime]) -> None:
    folder = tmp_path / "kept"
    assert [night(at, shop, folder), night(at, shop, folder)] == [0, 0]
    with (folder / kept(folder)[1]).open("ab") as file:
        file.truncate(5000)
    assert night(at, shop, folder) == 1 and len(kept(folder)) == 3


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_one_that_was_exchanged_for_another_of_its_size_counts_no_more(
        shop: Path, tmp_path: Path, at: list[datetime], capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "kept"
    assert [night(at, shop, folder), night(at, shop, folder)] == [0, 0]
    second = folder / kept(folder)[1]
    second.write_bytes(b"x" * second.stat().st_size)
    assert night(at, shop, folder) == 1 and len(kept(folder)) == 3, "two good ones are not there, so the oldest stays"
    assert "cannot be read back, and counts as none" in capsys.readouterr().out


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_what_a_killed_backup_left_is_cleared_and_notes_that_are_gone_are_read_back(
        shop: Path, tmp_path: Path, at: list[datetime]) -> None:
    folder = tmp_path / "kept"
    night(at, shop, folder)
    (folder / "shop-20260101T000000Z.tar.part").write_bytes(b"unfinished")
    (folder / rotation.NOTES).write_text("{")
    assert [night(at, shop, folder), night(at, shop, folder)] == [0, 0]
    assert len(kept(folder)) == 2 and sorted(json.loads((folder / rotation.NOTES).read_text())) == kept(folder)
    assert list(folder.glob("*.part")) == []


@pytest.mark.parametrize(("words", "said"), [
    (["{tmp}/not/there", "--keep", "3"], "is the disk for backups mounted"),
    (["{tmp}/a-file.tar", "--keep", "3"], "is no folder"), (["{tmp}/x", "--keep", "0"], "is no number of backups")])
@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_a_folder_that_is_none_is_refused_in_words(
        shop: Path, tmp_path: Path, words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    try:
        assert main(["backup", *(word.format(tmp=tmp_path) for word in words), "--data", str(shop)]) == 1
    except SystemExit as ended:
        assert ended.code == 2
    assert said in capsys.readouterr().err


def made(at: datetime, *troubles: str) -> Made:
    return Made(3, 1000, "a" * 64, "b" * 64, at, troubles)


@pytest.mark.parametrize(("age", "kind"), [
    (timedelta(hours=1), Kind.GOOD), (timedelta(days=2), Kind.GOOD), (timedelta(days=2, seconds=1), Kind.OLD),
    (timedelta(days=-1), Kind.AHEAD)])
def test_a_backup_ages_by_the_days_that_the_owner_sets(tmp_path: Path, age: timedelta, kind: Kind) -> None:
    remembered.remember(tmp_path, tmp_path / "x.tar", made(NOW - age))
    found = remembered.standing(tmp_path, NOW, 2, lambda head, _at: head == "b" * 64)
    assert found.kind is kind and found.warns is (kind is not Kind.GOOD)
    assert remembered.standing(tmp_path, NOW, 2, lambda _head, _at: False).kind is Kind.NEVER  # another history


def test_one_of_a_damaged_shop_is_not_the_last_good_one(tmp_path: Path) -> None:
    remembered.remember(tmp_path, tmp_path / "x.tar", made(NOW - timedelta(days=1)))
    remembered.remember(tmp_path, tmp_path / "y.tar", made(NOW, "photo 1 is gone"))
    found = remembered.standing(tmp_path, NOW, 2, lambda _head, _at: True)
    assert (found.kind, found.mismatches, found.at, found.warns) == (Kind.GOOD, 1, NOW - timedelta(days=1), True)
    remembered.remember(tmp_path, tmp_path / "z.tar", made(NOW))
    assert not remembered.standing(tmp_path, NOW, 2, lambda _head, _at: True).warns


@pytest.mark.parametrize("text", ["", "{", "[]", '{"good": 1}', '{"good": {"at": "x", "head": ""}}', '{"newest": {"at": 1}}'])
def test_a_note_that_cannot_be_read_is_no_backup(tmp_path: Path, text: str) -> None:
    (tmp_path / remembered.FILE).write_text(text)
    assert remembered.standing(tmp_path, NOW, 2, lambda _head, _at: True).kind in (Kind.UNREADABLE, Kind.NEVER)


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_bench_list_and_shop_s_page_say_when_that_it_is_too_old_and_that_there_is_none(
        app: Flask, owner: PageClient, technician: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for page in (owner.get("/shop"), technician.get("/")):
        assert "No backup of this shop was made yet." in page.text
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    data = str(app.config["DATA"])
    assert main(["backup", str(tmp_path / "kept.tar"), "--data", data]) == 0
    assert "kept.tar" in owner.get("/shop").text and "kept.tar" not in technician.get("/").text
    for page in (owner.get("/shop"), technician.get("/")):
        assert "Last good backup: " in page.text
    now = clock.now()
    monkeypatch.setattr(clock, "now", lambda: now + timedelta(days=2, minutes=1))
    with app.app_context():
        assert remembered.of_this_shop(2).kind is Kind.OLD and remembered.of_this_shop(3).kind is Kind.GOOD
    restored = tmp_path / "again"
    assert main(["restore", str(tmp_path / "kept.tar"), "--data", str(restored)]) == 0
    found = remembered.standing(restored, clock.now(), 2, lambda _head, _at: True)
    assert found.kind is Kind.NEVER and found.restored_from is not None


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_a_note_that_was_made_younger_than_its_backup_is_none(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    """A backup of a moment holds every entry of before it: where its newest entry has later ones of then, the note is wrong."""
    data, now = Path(context.config["DATA"]), NOW
    monkeypatch.setattr(clock, "now", lambda: now)
    with transaction():
        factories.order(now=NOW)
    head = journal.head()
    remembered.remember(data, data / "x.tar", Made(3, 1000, "a" * 64, head, NOW + timedelta(minutes=1)))
    with transaction():
        factories.order(now=NOW + timedelta(minutes=2))
    now = NOW + timedelta(days=3)
    assert remembered.of_this_shop(9).kind is Kind.GOOD
    for days, kind in ((1, Kind.NEVER), (0, Kind.GOOD)):
        remembered.remember(data, data / "x.tar", Made(3, 1000, "a" * 64, head, NOW + timedelta(minutes=1, days=days)))
        assert remembered.of_this_shop(9).kind is kind
