"""Files that were sent and are not saved yet: tied to their sender, bounded, gone after seven days.

They lie with the photos: in the data folder, unless those are elsewhere. Each form that waits has a folder of its own under
held/, with its files and `about.json`. Room is bounded in forms, files and bytes: for each person and over all. Who needs room
takes it from what waits longest of their own, never from another's.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
import threading
import time
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from flask import current_app
from werkzeug.datastructures import FileStorage

from app.config import sync, write_whole
from app.kernel.clock_watch import in_doubt

KEPT_FOR = timedelta(days=7)
USED_FOR = timedelta(hours=1)  # what was saved meanwhile is still known to a repeat of the same form
MEGABYTE = 1024 * 1024
ABOUT = "about.json"
NEW = "new-"  # begins the folder of what is being written
_NAME = re.compile(r"[A-Za-z0-9_-]{32}")
_LOCK = threading.Lock()  # one server process owns the data folder; its threads take turns here


@dataclass(frozen=True)
class Room:
    """The most that may wait."""

    forms: int
    files: int
    size: int  # bytes


ONE_PERSON = Room(forms=60, files=200, size=600 * MEGABYTE)
ALL = Room(forms=1000, files=3000, size=4096 * MEGABYTE)


@dataclass(frozen=True)
class HeldFile:
    """A file that was uploaded with a form. `file` is its name in the folder; empty if there was no room for it."""

    field: str
    name: str
    media_type: str
    file: str
    size: int = 0


@dataclass(frozen=True)
class Waiting:
    """One form that waits. `who` is "person 3"."""

    id: str
    who: str
    path: str
    at: datetime
    files: tuple[HeldFile, ...]
    used: str = ""  # the once key of the form that took these files

    @property
    def size(self) -> int:
        return sum(one.size for one in self.files)


def put(who: str, path: str, given: Sequence[tuple[str, FileStorage]], now: datetime) -> Waiting:
    """Keep these files (field and upload) together. What there is no room for is named in it, with an empty `file`."""
    with _LOCK:
        standing = _tidy(now)
        wanted, folder = _within(ONE_PERSON, given), _root() / f"{NEW}{secrets.token_hex(8)}"
        if not _make_room(who, wanted, standing):
            wanted = [(HeldFile(one.field, one.name, one.media_type, ""), None) for one, _ in wanted]
        made = Waiting(secrets.token_urlsafe(24), who, path, now, _write(wanted, folder))
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        _note(made, folder)
        sync(folder)
        folder.rename(_root() / made.id)
        sync(_root())
        return made


def find(waiting_id: str, now: datetime) -> Waiting | None:
    """What waits under this id, if it does still."""
    found = _read(_root() / waiting_id) if _NAME.fullmatch(waiting_id) else None
    return found if found is not None and now - found.at <= KEPT_FOR else None


def path_of(waiting: Waiting, one: HeldFile) -> Path:
    """Where the bytes of this file lie."""
    return _root() / waiting.id / one.file


def use(waiting: Waiting, key: str) -> None:
    """These files went into what was saved with this once key."""
    folder = _root() / waiting.id
    if folder.is_dir():
        _note(Waiting(waiting.id, waiting.who, waiting.path, waiting.at, waiting.files, key), folder)


def drop(ids: Iterable[str]) -> None:
    """Put out what waits under these ids, its files too."""
    with _LOCK:
        for one in ids:
            if _NAME.fullmatch(one) and (_root() / one).is_dir():
                shutil.rmtree(_root() / one)


def standing_ids() -> frozenset[str]:
    """Every id under which something waits."""
    return frozenset(one.name for one in _root().glob("*") if _NAME.fullmatch(one.name))


def _within(most: Room, given: Sequence[tuple[str, FileStorage]]) -> list[tuple[HeldFile, FileStorage | None]]:
    """Each file with its bytes, or without them where one sender's room ends."""
    found: list[tuple[HeldFile, FileStorage | None]] = []
    files = size = 0
    for field, upload in given:
        weight = upload.stream.seek(0, 2)
        upload.stream.seek(0)
        fits = files < most.files and size + weight <= most.size
        kept_as, size_kept = (str(len(found)), weight) if fits else ("", 0)
        one = HeldFile(field, _plain(upload.filename), upload.mimetype or "", kept_as, size_kept)
        found.append((one, upload if fits else None))
        files, size = files + fits, size + weight * fits
    return found


def _plain(name: str | None) -> str:
    """A file's name as text: without folders and control marks, at most 60 characters."""
    plain = "".join(mark for mark in (name or "").replace("\\", "/").split("/")[-1] if mark.isprintable())
    return plain if 0 < len(plain) <= 60 else f"{plain[:28]}…{plain[-28:]}" if plain else "photo"


def _make_room(who: str, wanted: Sequence[tuple[HeldFile, FileStorage | None]], standing: list[Waiting]) -> bool:
    """Put out what waits longest until the new one fits everywhere; False if even that does not make room."""
    files, size = sum(1 for one, _ in wanted if one.file), sum(one.size for one, _ in wanted)
    own = [one for one in standing if one.who == who]
    # What an earlier version kept for who was not signed in goes first; nobody can have it any more.
    bounds = [(ONE_PERSON, own, own), (ALL, standing, [*(one for one in standing if not one.who.startswith("person ")), *own])]
    out: set[str] = set()
    for most, counted, may_go in bounds:
        left = [one for one in counted if one.id not in out]
        going = [one for one in may_go if one.id not in out]
        while not _fits(most, left, files, size):
            if not going:
                return False
            first = going.pop(0)
            out.add(first.id)
            shutil.rmtree(_root() / first.id, ignore_errors=True)
            left = [one for one in left if one.id != first.id]
    return True


def _fits(most: Room, counted: Sequence[Waiting], files: int, size: int) -> bool:
    return (len(counted) < most.forms and sum(len(one.files) for one in counted) + files <= most.files
            and sum(one.size for one in counted) + size <= most.size)


def _write(wanted: Iterable[tuple[HeldFile, FileStorage | None]], folder: Path) -> tuple[HeldFile, ...]:
    written = []
    for one, upload in wanted:
        if upload is not None:
            try:
                folder.mkdir(parents=True, exist_ok=True, mode=0o700)
                upload.save(folder / one.file)
                sync(folder / one.file)
                upload.stream.seek(0)
            except OSError:  # a full disk, say: named as not kept
                one = HeldFile(one.field, one.name, one.media_type, "")
        written.append(one)
    return tuple(written)


def _note(waiting: Waiting, folder: Path) -> None:
    facts = {**asdict(waiting), "at": waiting.at.isoformat()}
    write_whole(folder / ABOUT, json.dumps(facts))


def _read(folder: Path) -> Waiting | None:
    try:
        facts = json.loads((folder / ABOUT).read_text())
    except (OSError, ValueError):
        return None
    return Waiting(facts["id"], facts["who"], facts["path"], datetime.fromisoformat(facts["at"]),
                   tuple(HeldFile(**one) for one in facts["files"]), facts["used"])


def _tidy(now: datetime) -> list[Waiting]:
    """Put out what has waited its time; the rest, longest waiting first."""
    standing = []
    for folder in _root().glob("*"):
        if folder.name.startswith(NEW) and time.time() - folder.stat().st_mtime < USED_FOR.total_seconds():
            continue  # another server may be writing it; what an interrupted write left goes when it is older
        one = _read(folder) if _NAME.fullmatch(folder.name) else None
        if one is None or (now - one.at > (USED_FOR if one.used else KEPT_FOR) and not in_doubt()):
            shutil.rmtree(folder, ignore_errors=True)
        else:
            standing.append(one)
    return sorted(standing, key=lambda one: one.at)


def _root() -> Path:
    store: Any = current_app.extensions["tagstrip_store"]
    root: Path = store.root
    return root.with_name("held")
