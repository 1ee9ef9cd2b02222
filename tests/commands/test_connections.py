"""Every command closes the database connections that it opens, also when it fails: no later Python finds them lying about."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from app.cli import main
from tests.people import Cast

Open = set[int]


@pytest.fixture
def still_open() -> Iterator[Open]:
    """The connections that are open now, of all that were opened within the test."""
    found: Open = set()

    def opened(connection: object, _record: object) -> None:
        found.add(id(connection))

    def closed(connection: object, _record: object) -> None:
        found.discard(id(connection))

    sa.event.listen(sa.Pool, "connect", opened)
    sa.event.listen(sa.Pool, "close", closed)
    yield found
    sa.event.remove(sa.Pool, "connect", opened)
    sa.event.remove(sa.Pool, "close", closed)


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Path:
    folder = tmp_path / "shop"
    folder.mkdir()
    shutil.copy(sqlite_templates[1], folder / "tagstrip.db")
    (tmp_path / "people.csv").write_text("name,phone\nIda Marren,555 0133\n")
    (tmp_path / "torn.csv").write_text("name,phone\n,555 0134\n")
    return folder


@pytest.mark.parametrize(("words", "code"), [
    ("migrate --data {shop}", 0), ("verify --data {shop}", 0), ("export {tmp}/out --data {shop}", 0),
    ("backup {tmp}/shop.tar --data {shop}", 0), ("import {tmp}/people.csv --what customers --data {shop}", 0),
    ("import {tmp}/torn.csv --what customers --data {shop}", 1), ("user add --name Wenna --role technician --data {shop}", 0),
    ("user add --name Cass --role technician --data {shop}", 1), ("user code --name Tove --data {shop}", 0),
    ("user code --name Nobody --data {shop}", 1), ("user add --name Wenna --data {shop}", 1)])
def test_command_closes_what_it_opened(words: str, code: int, shop: Path, tmp_path: Path, still_open: Open,
                                       monkeypatch: pytest.MonkeyPatch) -> None:
    short = "Cass" in words
    monkeypatch.setattr("sys.stdin", io.StringIO("short\n" if short else "copper kettle on a slow stove\n"))
    assert main(words.format(shop=shop, tmp=tmp_path).split()) == code
    assert still_open == set()


def test_restoring_closes_what_it_opened_into_a_new_shop_and_into_one_that_is_full(
        shop: Path, tmp_path: Path, still_open: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = str(tmp_path / "shop.tar")
    assert main(["backup", kept, "--data", str(shop)]) == 0
    assert main(["restore", kept, "--data", str(tmp_path / "again")]) == 0
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", f"sqlite:///{shop / 'tagstrip.db'}")
    assert main(["restore", kept, "--data", str(tmp_path / "over")]) == 1
    assert still_open == set()
