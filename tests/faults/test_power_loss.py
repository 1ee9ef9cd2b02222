"""Power loss by replay: after every prefix of what was made durable, with all that was not synced dropped, no row lacks its file.

The rules of the replay are those of fsync(2) and rename(2): bytes count from the sync of their file, a name from the sync of its
folder after that. A commit counts when it returns (SQLite's manual, PRAGMA synchronous=FULL).
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import transaction
from app.tables import metadata
from tests import factories
from tests.pages import PageClient
from tests.photos.make import photo_bytes, upright

pytestmark = pytest.mark.fault


@dataclass
class Disk:
    """What lies on the disk if the power goes now: by name, the bytes; and the database as of its last commit."""

    files: dict[str, bytes] = field(default_factory=dict)
    database: bytes = b""


class Recorder:
    """Follows syncs, renames and commits under one folder and keeps the disk as it would be after each of them."""

    def __init__(self, root: Path, database: Path) -> None:
        self.root, self.database, self.points = root, database, list[Disk]()
        self.synced: dict[int, bytes] = {}  # by inode: what of it is on the disk
        self.now = Disk()
        self.folders = set[int]()  # by inode: those whose names are on the disk
        self._committed = False

    def settle(self) -> None:
        """A commit that was begun is through by the time that anything else happens."""
        if self._committed:
            self._committed = False
            with closing(sqlite3.connect(self.database)) as there:
                self.now = Disk(dict(self.now.files), there.serialize())
            self.points.append(self.now)

    def commit(self, connection: sa.Connection) -> None:
        self.settle()
        self._committed = bool(connection.get_execution_options().get("writing"))

    def sync(self, handle: int) -> None:
        self.settle()
        found = os.fstat(handle)
        path = Path(os.path.realpath(f"/proc/self/fd/{handle}"))
        if not path.is_relative_to(self.root):
            return
        if not stat.S_ISDIR(found.st_mode):
            self.synced[found.st_ino] = path.read_bytes()
            return
        self.folders.add(found.st_ino)
        files = {name: data for name, data in self.now.files.items() if (self.root / name).parent != path}
        for one in path.iterdir():
            if one.is_file() and one.suffix != ".db":
                files[str(one.relative_to(self.root))] = self.synced.get(one.stat().st_ino, b"")
            elif one.is_dir():  # its name; what lies in it counts by what was synced there
                files |= {name: data for name, data in self.moved(one).items() if name not in files}
        self.now = Disk(files, self.now.database)
        self.points.append(self.now)

    def moved(self, folder: Path) -> dict[str, bytes]:
        """Files of a folder that got its name just now: those names in it that were synced under its former name."""
        return {str(one.relative_to(self.root)): self.synced[one.stat().st_ino] for one in folder.iterdir()
                if one.is_file() and one.stat().st_ino in self.synced and folder.stat().st_ino in self.folders}


@contextmanager
def recorded(root: Path) -> Iterator[Recorder]:
    found = Recorder(root, root / "tagstrip.db")
    sync = os.fsync

    def fsync(handle: int) -> None:
        sync(handle)
        found.sync(handle)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", fsync)
        sa.event.listen(sa.Engine, "commit", found.commit)
        try:
            yield found
        finally:
            sa.event.remove(sa.Engine, "commit", found.commit)
    found.settle()


def lies(disk: Disk) -> list[str]:
    """What the rows name that is not there, or not whole."""
    if not disk.database:
        return []
    wrong = []
    with closing(sqlite3.connect(":memory:")) as there:
        there.deserialize(disk.database)
        for table in metadata.sorted_tables:
            for column in (one for one in table.columns if one.info.get("stored")):
                for (sha256,) in there.execute(f'SELECT "{column.name}" FROM "{table.name}" WHERE "{column.name}" IS NOT NULL'):
                    data = disk.files.get(f"photos/{sha256[:2]}/{sha256}")
                    if data is None or hashlib.sha256(data).hexdigest() != sha256:
                        wrong.append(f"{table.name}.{column.name}: {'missing' if data is None else f'{len(data)} bytes'}")
        for key, told in there.execute("SELECT id, files FROM held_post"):
            files: list[dict[str, Any]] = json.loads(told)
            wrong += [f"held_post {key}: {one['name']}" for one in files
                      if one["file"] and len(disk.files.get(f"held/{key}/{one['file']}", b"")) != one["size"]]
    return wrong


@pytest.fixture
def engine_name() -> str:
    """PostgreSQL keeps its own files; the order of ours is the same (tests/faults/test_order_of_syncs.py has both)."""
    return "sqlite"


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return factories.order().id


def test_photos_papers_and_drawings(counter: PageClient, owner: PageClient, order_id: int, tmp_path: Path) -> None:
    with recorded(tmp_path) as found:
        counter.post(f"/orders/{order_id}/photos", {"place": "front", "photos": photo_bytes()})
        counter.post(f"/orders/{order_id}/photos", {"place": "back", "photos": photo_bytes(image=upright().rotate(90))})
        owner.send(f"/orders/{order_id}/papers/receipt", {**owner.token(), "as_page": "yes"})
    rows = [one for one in found.points if one.database]
    assert len(rows) >= 3 and len(found.points) > 10
    assert [lies(disk) for disk in found.points] == [[]] * len(found.points)


def test_a_held_form_with_its_files(app: Flask, stranger: PageClient, owner: PageClient, order_id: int, tmp_path: Path) -> None:
    form = owner.token()
    with recorded(tmp_path) as found:
        stranger.send(f"/orders/{order_id}/photos", {**form, "place": "front", "photos": photo_bytes()}, follow=False, status=303)
    with closing(sqlite3.connect(tmp_path / "tagstrip.db")) as there:
        assert there.execute("SELECT count(*) FROM held_post").fetchone() == (1,)
    assert [lies(disk) for disk in found.points] == [[]] * len(found.points)
    assert any(disk.database for disk in found.points)


@pytest.mark.parametrize("left_out", ["file", "folder"])
def test_a_sync_that_is_left_out_is_seen(counter: PageClient, order_id: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                         left_out: str) -> None:
    """The replay would find it: it is tried with the syncs of the store's files, or of its folders, taken away."""
    with recorded(tmp_path) as found:
        traced = os.fsync

        def some(handle: int) -> None:
            if stat.S_ISDIR(os.fstat(handle).st_mode) is not (left_out == "folder"):
                traced(handle)

        monkeypatch.setattr(os, "fsync", some)
        counter.post(f"/orders/{order_id}/photos", {"place": "front", "photos": photo_bytes()})
        monkeypatch.undo()
    assert any(lies(disk) for disk in found.points)
