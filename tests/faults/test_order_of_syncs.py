"""What is acknowledged lies on the disk: file synced, then renamed, its folder synced, and only then the row committed.

The order is that of POSIX fsync(2) and rename(2), whose manual pages say that a file's sync does not cover its name in the folder;
the row comes last because a row without its file is a record that lies, and a file without its row only waste.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup import backup
from app.db import database, session, transaction
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.orders.models import RepairOrder
from app.photos.store import FolderStore
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY
from tests.photos.make import photo_bytes


@contextmanager
def traced(root: Path) -> Iterator[list[str]]:
    """What is made durable under this folder, in order: 'sync file …', 'rename … …', 'sync folder …', 'commit'."""
    done: list[str] = []
    patch = pytest.MonkeyPatch()
    sync, fdatasync = os.fsync, os.fdatasync

    def told(path: str | Path) -> str:
        found = os.path.realpath(path)
        return os.path.relpath(found, root) if Path(found).is_relative_to(root) else ""

    def note(handle: int) -> None:
        path = f"/proc/self/fd/{handle}"
        what = "folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file"
        if name := told(path):
            done.append(f"sync {what} {name}")

    def renaming(way: Callable[..., Any]) -> Callable[..., Any]:
        def rename(source: Any, target: Any, **given: Any) -> Any:
            if told(target):
                done.append(f"rename {told(source)} {told(target)}")
            return way(source, target, **given)

        return rename

    patch.setattr(os, "fsync", lambda handle: (note(handle), sync(handle))[1])
    patch.setattr(os, "fdatasync", lambda handle: (note(handle), fdatasync(handle))[1])
    for name in ("rename", "replace"):  # pathlib calls them too
        patch.setattr(os, name, renaming(getattr(os, name)))

    def committed(connection: sa.Connection) -> None:
        if connection.get_execution_options().get("writing"):
            done.append("commit")

    sa.event.listen(sa.Engine, "commit", committed)
    try:
        yield done
    finally:
        sa.event.remove(sa.Engine, "commit", committed)
        patch.undo()


def wrong(done: list[str], named: str) -> list[str]:
    """What is out of order for each file that got its name under `named` (a folder), and of the commit that follows."""
    faults = []
    for at, act in enumerate(done):
        if act.startswith("rename ") and act.split()[2].startswith(named):
            _, before, after = act.split()
            if f"sync file {before}" not in done[:at]:
                faults.append(f"{after} was not synced before it got its name")
            commit = next((later for later in range(at, len(done)) if done[later] == "commit"), len(done))
            if f"sync folder {Path(after).parent}" not in done[at:commit]:
                faults.append(f"the folder of {after} was not synced before the commit")
    return faults


def named(done: list[str], folder: str) -> list[str]:
    return [act.split()[2] for act in done if act.startswith("rename ") and act.split()[2].startswith(folder)]


def test_a_photo_lies_on_the_disk_before_its_row(app: Flask, counter: PageClient, tmp_path: Path) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    with traced(tmp_path) as done:
        counter.post(f"/orders/{order_id}/photos", {"place": "front", "photos": photo_bytes()})
    kept = named(done, "photos/")
    assert len(kept) == 3 and wrong(done, "photos/") == []  # original, screen copy, thumbnail
    last = max(at for at, act in enumerate(done) if "photos" in act)
    assert done[last:].count("commit") >= 1 and f"sync folder {Path(kept[0]).parent}" in done


def test_the_root_too_is_synced_for_a_folder_that_is_new(tmp_path: Path) -> None:
    with traced(tmp_path) as done:
        sha256 = FolderStore(tmp_path / "photos").put(b"whatever it may be")
    assert done == [f"sync file {done[0].split()[2]}", f"rename {done[0].split()[2]} photos/{sha256[:2]}/{sha256}",
                    f"sync folder photos/{sha256[:2]}", "sync folder photos"]


def test_what_is_kept_already_is_not_written_again(tmp_path: Path) -> None:
    store = FolderStore(tmp_path / "photos")
    store.put(b"whatever it may be")
    with traced(tmp_path) as done:
        store.put(b"whatever it may be")
    assert named(done, "photos/") == []


def test_a_paper_lies_on_the_disk_before_its_row(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order_id = factories.order().id
    with traced(tmp_path) as done:
        order = session().get_one(RepairOrder, order_id)
        made = make(order, paper(order, Kind.RECEIPT), now=NOW, as_page=True)
        with transaction() as current:
            documents.issue(current.get_one(RepairOrder, order_id), made, by=BY, now=NOW)
    assert len(named(done, "photos/")) == 2 and wrong(done, "photos/") == [] and done[-1] == "commit"  # its page, and the paper


def test_a_backup_lies_on_the_disk_before_it_is_called_made(context: Flask, tmp_path: Path) -> None:
    (tmp_path / "kept").mkdir()
    with traced(tmp_path) as done:
        backup.backup(tmp_path / "kept" / "shop.tar")
    assert named(done, "kept/") == ["kept/shop.tar"] and wrong(done, "kept/") == []


def test_the_database_syncs_each_commit(context: Flask) -> None:
    """SQLite's manual, PRAGMA synchronous: FULL (2) syncs at every commit; EXTRA (3) the folder too."""
    if database().engine.dialect.name == "sqlite":
        assert session().scalar(sa.text("PRAGMA synchronous")) in (2, 3)
    else:
        source = sa.text("SELECT source FROM pg_settings WHERE name = 'synchronous_commit'")
        assert session().scalar(source) != "session"  # it is left to the server, whose own setting is on


@pytest.mark.parametrize("spoilt", [
    ["rename a photos/b", "sync folder photos", "commit"], ["sync file a", "rename a photos/b", "commit"],
    ["sync file a", "rename a photos/b", "commit", "sync folder photos"],
    ["rename a photos/b", "sync file a", "sync folder photos", "commit"]])
def test_disorder_is_seen(spoilt: list[str]) -> None:
    assert len(wrong(spoilt, "photos/")) == 1
