"""A shop's photos folder bears an id that its database knows: another folder is refused, and so is a second server."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import config
from app.cli import main
from app.commands import running, server
from app.db import opened
from app.errors import RuleBroken
from app.kernel import upload_holding as shelf
from app.photos import identity
from app.photos.store import open_store
from app.turns import serving_alone
from tests.commands.served import free_port
from tests.conftest import configure, working_on
from tests.faults.shop import Shop
from tests.people import Cast


@pytest.fixture
def served_on(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    found: list[Path] = []
    monkeypatch.setattr(server, "run", lambda data, *_given, **_more: found.append(data))
    return found


@pytest.fixture
def url(engine_name: str, furnished_url: str, monkeypatch: pytest.MonkeyPatch) -> str:
    if engine_name == "postgresql":
        monkeypatch.setenv("TAGSTRIP_DATABASE_URL", furnished_url)
    return furnished_url


@pytest.fixture
def data(tmp_path: Path, engine_name: str, url: str) -> Path:
    """Where a server of this shop has its data folder."""
    return tmp_path if engine_name == "sqlite" else tmp_path / "one"


def serve(data: Path, *words: str) -> int:
    return main(["serve", "--data", str(data), "--port", str(free_port()), *words])


def test_the_first_start_gives_an_id_and_the_next_finds_it(data: Path, url: str, served_on: list[Path]) -> None:
    assert serve(data) == 0
    found = identity.of_store(open_store(config.load(data).photo_url))
    assert len(found) == 32
    assert serve(data) == 0 and served_on == [data, data]
    assert identity.of_store(open_store(config.load(data).photo_url)) == found
    with opened(url) as engine, engine.connect() as connection:
        assert connection.scalar(sa.text("SELECT key FROM photo_store")) == found


@pytest.mark.parametrize("other", ["another shop's", "empty"])
def test_another_folder_is_refused_and_named(data: Path, url: str, other: str, served_on: list[Path], tmp_path: Path,
                                            monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert serve(data) == 0
    elsewhere = tmp_path / "elsewhere"
    if other == "another shop's":
        identity.give(open_store(elsewhere.as_uri()), "f" * 32)
    monkeypatch.setenv("TAGSTRIP_PHOTO_URL", elsewhere.as_uri())
    served_on.clear()
    for words in (["serve", "--port", str(free_port())], ["verify"], ["backup", str(tmp_path / "kept.tar")]):
        capsys.readouterr()
        assert main([*words, "--data", str(data)]) == 1, words
        said = capsys.readouterr().err
        assert str(elsewhere) in said and "--accept-photos" in said and said.count("\n") == 1
    assert served_on == []
    assert main(["migrate", "--accept-photos", "--data", str(data)]) == 0
    assert serve(data) == 0


def test_a_start_that_was_killed_between_id_and_row_goes_on(data: Path, url: str, served_on: list[Path]) -> None:
    identity.give(open_store(config.load(data).photo_url), "a" * 32)
    assert serve(data) == 0
    assert identity.of_store(open_store(config.load(data).photo_url)) == "a" * 32


def test_a_backup_brings_no_id_along(data: Path, url: str, served_on: list[Path], tmp_path: Path,
                                     monkeypatch: pytest.MonkeyPatch) -> None:
    assert serve(data) == 0
    assert main(["backup", str(tmp_path / "kept.tar"), "--data", str(data)]) == 0
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
    again = tmp_path / "again"
    assert main(["restore", str(tmp_path / "kept.tar"), "--data", str(again)]) == 0
    assert serve(again) == 0
    assert identity.of_store(open_store((again / "photos").as_uri())) != identity.of_store(open_store((data / "photos").as_uri()))


class TestTwoServers:
    """On PostgreSQL; a SQLite file belongs to one folder, which one process owns."""

    @pytest.fixture
    def engine_name(self) -> str:
        return "postgresql"

    @pytest.fixture
    def first(self, tmp_path: Path, url: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
        (tmp_path / "one").mkdir()
        monkeypatch.setenv("TAGSTRIP_PHOTO_URL", (tmp_path / "photos").as_uri())
        shop = Shop(tmp_path / "one", url)
        yield shop
        shop.kill()

    def test_a_second_one_is_refused(self, first: Shop, tmp_path: Path, served_on: list[Path],
                                     capsys: pytest.CaptureFixture[str]) -> None:
        first.start()
        assert serve(tmp_path / "two") == 1 and served_on == []
        said = capsys.readouterr().err
        assert "Another Tagstrip serves this database" in said and "TAGSTRIP_SHARED_STORE" in said and said.count("\n") == 1
        first.kill()
        assert serve(tmp_path / "two") == 0, "when it is gone, another may"

    def test_two_that_share_the_store_by_setting_serve_together(self, first: Shop, tmp_path: Path, served_on: list[Path],
                                                                monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("TAGSTRIP_SHARED_STORE", "yes")
        first.start()
        part = tmp_path / "photos" / ".part-of-the-other"
        part.touch()
        assert serve(tmp_path / "two") == 0
        assert part.exists(), "what the other is writing is not swept"
        monkeypatch.delenv("TAGSTRIP_SHARED_STORE")
        assert serve(tmp_path / "three") == 1

    def test_the_lock_ends_with_its_holder(self, url: str) -> None:
        with opened(url) as engine:
            with serving_alone(engine, shared=False), pytest.raises(RuleBroken), serving_alone(engine, shared=True):
                raise AssertionError("it is taken")
            with serving_alone(engine, shared=True), serving_alone(engine, shared=True):
                pass


def test_held_forms_lie_with_the_store(bare_app: Flask, tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast],
                                       monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copy(sqlite_templates[1], tmp_path / "tagstrip.db")
    found = configure(tmp_path, f"sqlite:///{tmp_path / 'tagstrip.db'}")
    store = tmp_path / "far" / "photos"
    old = tmp_path / "held" / ("h" * 32)
    old.mkdir(parents=True)
    (old / "about.json").write_text("{}")
    with working_on(bare_app, config.Config(found.data, found.database_url, store.as_uri(), found.secret_key)), \
            bare_app.app_context():
        assert shelf.standing_ids() == frozenset()
        running.bring_held_forms(tmp_path, open_store(store.as_uri()))
        assert shelf.standing_ids() == {"h" * 32} and not old.exists()


def test_nothing_is_moved_where_they_lie_there_already(tmp_path: Path) -> None:
    (tmp_path / "held" / ("h" * 32)).mkdir(parents=True)
    running.bring_held_forms(tmp_path, open_store((tmp_path / "photos").as_uri()))
    assert (tmp_path / "held" / ("h" * 32)).is_dir()
