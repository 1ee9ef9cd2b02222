"""What verify, backup, restore and export make of a shop in which something is damaged, and that nobody waits for them."""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest
from flask import Flask

from app import config
from app.backup.archive import check
from app.cli import main
from app.commands import opening
from app.db import database, session, transaction
from app.errors import Unavailable
from app.orders.models import RepairOrder
from app.photos.models import Photo
from app.photos.store import the_store
from tests import factories
from tests.photos.make import photo

pytestmark = pytest.mark.parametrize("engine_name", ["sqlite"])


@pytest.fixture
def shop(context: Flask) -> Path:
    """A shop with one order and a photo of it, in the folder `data`, with nobody connected."""
    with transaction():
        order = factories.order()
        photo(session().get_one(RepairOrder, order.id))
    session().rollback()
    database().close()
    return Path(context.config["DATA"])


def of_photo() -> str:
    sha256: str = session().query(Photo).one().sha256
    session().rollback()
    return sha256


def the_file(shop: Path) -> Path:
    sha256 = of_photo()
    return shop / "photos" / sha256[:2] / sha256


def test_a_deleted_photo_is_named_by_the_backup_which_is_written_all_the_same(
        shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    the_file(shop).unlink()
    assert main(["backup", str(tmp_path / "kept.tar"), "--data", str(shop)]) == 1
    out, err = capsys.readouterr()
    assert "photo 1 refers to a file that is not in the store" in out and "did not fit, named above" in err
    assert check(tmp_path / "kept.tar").troubles == ("photo 1 refers to a file that is not in the store",)
    assert main(["restore", str(tmp_path / "kept.tar"), "--data", str(tmp_path / "again")]) == 0
    assert "It did not fit when the backup was made: photo 1 refers" in capsys.readouterr().out


def test_a_whole_shop_s_backup_says_what_was_checked(shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["backup", str(tmp_path / "kept.tar"), "--data", str(shop)]) == 0
    said = capsys.readouterr().out
    assert "no mismatch found" in said and "read back" in said
    assert check(tmp_path / "kept.tar").troubles == ()


def test_a_rotten_photo_is_kept_as_it_lies_and_named_again_after_restoring(
        shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    the_file(shop).write_bytes(b"rotten")
    assert main(["backup", str(tmp_path / "kept.tar"), "--data", str(shop)]) == 1
    assert main(["restore", str(tmp_path / "kept.tar"), "--data", str(tmp_path / "again")]) == 0
    capsys.readouterr()
    assert main(["verify", "--data", str(tmp_path / "again")]) == 1
    assert "is not what was stored" in capsys.readouterr().out


def test_a_rotten_photo_is_neither_served_nor_given(shop: Path, context: Flask) -> None:
    the_file(shop).write_bytes(b"rotten")
    with pytest.raises(Unavailable, match="damaged"):
        the_store().get(of_photo())


def test_the_same_picture_again_heals_it(shop: Path) -> None:
    path = the_file(shop)
    whole = path.read_bytes()
    path.write_bytes(b"rotten")
    assert the_store().put(whole) == path.name and path.read_bytes() == whole


def test_an_export_goes_on_past_a_missing_file_and_lists_it(shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    the_file(shop).unlink()
    assert main(["export", str(tmp_path / "out"), "--data", str(shop)]) == 1
    out, err = capsys.readouterr()
    assert "not in the store" in out and "could not be read" in err
    assert "not in the store" in (tmp_path / "out" / "LACKING.txt").read_text()
    assert (tmp_path / "out" / "manifest.json").is_file() and len(list((tmp_path / "out" / "files").iterdir())) > 0


def test_files_that_no_record_names_are_no_mismatch_and_can_be_put_aside(
        shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept = the_store().put(b"left by an upload that was killed")
    assert main(["verify", "--data", str(shop)]) == 0
    assert "1 file that no record names" in capsys.readouterr().out and the_store().has(kept)
    assert main(["verify", "--data", str(shop), "--tidy"]) == 0
    assert (shop / "put-aside" / kept).read_bytes() == b"left by an upload that was killed" and not the_store().has(kept)
    assert "put aside" in capsys.readouterr().out
    assert main(["verify", "--data", str(shop)]) == 0
    assert "no record names" not in capsys.readouterr().out


def test_nothing_is_put_aside_under_a_running_server(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept = the_store().put(b"an upload whose row is still to come")
    with opening.alone(shop):
        assert main(["verify", "--data", str(shop), "--tidy"]) == 1
    assert "is in use by process" in capsys.readouterr().err and the_store().has(kept)


def test_no_save_waits_for_what_reads_everything(shop: Path) -> None:
    """A long reader holds no lock on the shop's file: a save beside it takes no longer than alone."""
    reading, done = threading.Event(), threading.Event()

    def read_long() -> None:
        with opening.application(shop, older=True) as app:
            session().connection().exec_driver_sql("SELECT count(*) FROM journal_entry").all()
            assert Path(app.config["DATA"]) == shop
            reading.set()
            done.wait(30)

    reader = threading.Thread(target=read_long)
    reader.start()
    assert reading.wait(30)
    begun = time.monotonic()
    with closing(sqlite3.connect(shop / "tagstrip.db", timeout=1)) as raw:
        raw.execute("INSERT INTO guesses SELECT * FROM guesses WHERE 0")
        raw.execute("CREATE TABLE beside (x)")
        raw.commit()
    waited = time.monotonic() - begun
    done.set()
    reader.join()
    assert waited < 1.0 and list(shop.glob(f"{opening.COPIES}*")) == []


def test_the_copy_of_a_command_that_was_killed_is_cleared_away(shop: Path) -> None:
    left, living = shop / f"{opening.COPIES}999999999-x", shop / f"{opening.COPIES}{os.getpid()}-x"
    left.mkdir()
    living.mkdir()
    with opening.application(shop, older=True):
        assert not left.exists() and living.exists()


def test_a_damaged_database_is_said_in_words(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = shop / "tagstrip.db"
    whole = bytearray(path.read_bytes())
    whole[100:3000] = os.urandom(2900)
    path.write_bytes(whole)
    for words in (["verify"], ["backup", str(shop.parent / "x.tar")], ["export", str(shop.parent / "x")]):
        assert main([*words, "--data", str(shop)]) == 1
        assert "The database cannot be used" in capsys.readouterr().err
    assert config.load(shop).secret_key
