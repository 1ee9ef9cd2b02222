"""A folder that held a shop never becomes a new one: what is missing is named, with the way to restore. Any folder name works."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from app import config
from app.cli import main
from app.commands import server
from app.photos.store import open_store
from tests import postgres
from tests.commands.served import free_port
from tests.people import Cast

ODD_NAMES = ["what?mode=ro", "no #1", "fifty%41"]


@pytest.fixture
def served_on(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The folders that would have been served."""
    found: list[Path] = []
    monkeypatch.setattr(server, "run", lambda data, *_given, **_more: found.append(data))
    return found


def serve(data: Path) -> int:
    return main(["serve", "--data", str(data), "--port", str(free_port())])


def a_shop(data: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Path:
    """A shop with a key and one photo."""
    found = config.load(data)
    shutil.copy(sqlite_templates[1], data / "tagstrip.db")
    config.database_is_there(data)
    open_store(found.photo_url).put(b"a photo, say")
    return data


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Path:
    return a_shop(tmp_path / "shop", sqlite_templates)


def lose(data: Path, how: str) -> None:
    (data / "tagstrip.db").unlink()
    if how == "empty":
        (data / "tagstrip.db").touch()


@pytest.mark.parametrize("how", ["missing", "empty"])
@pytest.mark.parametrize("left", ["photos", "secret.key", "held"])
def test_a_database_that_is_gone_is_no_new_shop(how: str, left: str, shop: Path, served_on: list[Path],
                                                capsys: pytest.CaptureFixture[str]) -> None:
    lose(shop, how)
    (shop / "held" / ("h" * 32)).mkdir(parents=True)
    for name in {"photos", "secret.key", "held"} - {left}:
        (shop / name).unlink() if (shop / name).is_file() else shutil.rmtree(shop / name)
    before = sorted(shop.rglob("*"))
    for words in (["serve", "--port", str(free_port())], ["migrate"], ["verify"]):
        assert main([*words, "--data", str(shop)]) == 1, words
        said = capsys.readouterr().err
        assert said.count("\n") == 1 and how in said and "restore" in said, said
        assert "start a new shop" not in said
    assert served_on == []
    assert {path for path in shop.rglob("*") if path.name != "in-use"} == set(before), "nothing was made beside what is left"
    assert not (shop / "tagstrip.db").exists() or (shop / "tagstrip.db").stat().st_size == 0


def test_an_empty_postgresql_beside_photos_is_no_new_shop(postgres_server: str, shop: Path, served_on: list[Path],
                                                          monkeypatch: pytest.MonkeyPatch,
                                                          capsys: pytest.CaptureFixture[str]) -> None:
    postgres.command(postgres_server, "CREATE DATABASE lost_shop")
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", f"{postgres_server}/lost_shop")
    assert serve(shop) == 1 and served_on == []
    said = capsys.readouterr().err
    assert "empty" in said and "restore" in said
    fresh = shop.parent / "fresh"
    assert serve(fresh) == 0 and served_on == [fresh], "an empty folder and an empty database are a new shop"
    assert serve(fresh) == 0


def test_a_first_start_that_was_killed_goes_on(tmp_path: Path, served_on: list[Path]) -> None:
    data = tmp_path / "shop"
    config.load(data)  # killed when the key was there and the database not yet
    assert serve(data) == 0 and served_on == [data]
    (data / "tagstrip.db").unlink()
    assert serve(data) == 1, "once it was there it is missed"


@pytest.mark.parametrize("held", ["", "\n", "short"])
def test_a_key_that_is_none_is_refused(held: str, shop: Path, served_on: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    (shop / "secret.key").write_text(held)
    assert serve(shop) == 1 and served_on == []
    said = capsys.readouterr().err
    assert "secret.key" in said and said.count("\n") == 1 and "delete" in said.lower()
    assert (shop / "secret.key").read_text() == held


def test_a_key_is_there_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def killed(_handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("app.config.os.fsync", killed)
    with pytest.raises(KeyboardInterrupt):
        config.load(tmp_path / "shop")
    monkeypatch.undo()
    assert not (tmp_path / "shop" / "secret.key").exists()
    assert len(config.load(tmp_path / "shop").secret_key) == 64


@pytest.mark.parametrize("name", ODD_NAMES)
def test_any_folder_name_works(name: str, tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast], served_on: list[Path],
                               capsys: pytest.CaptureFixture[str]) -> None:
    data = a_shop(tmp_path / name, sqlite_templates)
    assert open_store(config.load(data).photo_url).root == data / "photos"
    assert serve(data) == 0 and served_on == [data]
    assert main(["verify", "--data", str(data)]) == 0, capsys.readouterr()
    kept, again = tmp_path / f"{name}.tar", tmp_path / f"{name} again"
    assert main(["backup", str(kept), "--data", str(data)]) == 0
    assert main(["restore", str(kept), "--data", str(again)]) == 0
    assert main(["verify", "--data", str(again)]) == 0, capsys.readouterr()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([name, f"{name}.tar", f"{name} again"]), "and nothing beside"
    assert (again / "tagstrip.db").stat().st_size > 0


def test_a_restored_shop_is_served(tmp_path: Path, shop: Path, served_on: list[Path]) -> None:
    assert main(["backup", str(tmp_path / "shop.tar"), "--data", str(shop)]) == 0
    assert main(["restore", str(tmp_path / "shop.tar"), "--data", str(tmp_path / "again")]) == 0
    assert serve(tmp_path / "again") == 0
    (tmp_path / "again" / "tagstrip.db").unlink()
    assert serve(tmp_path / "again") == 1
