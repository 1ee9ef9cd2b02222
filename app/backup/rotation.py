"""Dated backups in a folder: the newest so many good ones stay. Only what was read back by us counts, and only that may go.

What was read back is written down in a small file of the folder, each with its size and when it was written; a dated file that is
not in it, or is of another size or moment, is read back once before it counts.
One that cannot be read, or is of a shop that did not fit, never counts as good.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from app.backup import archive
from app.config import write_whole
from app.errors import BadInput, Unavailable
from app.photos.store import sync_folder

NOTES = "read-back.json"
_DATED = re.compile(r"shop-\d{8}T\d{6}Z(-\d+)?\.tar")


@dataclass(frozen=True)
class Rotated:
    """How many good ones there are now, which were taken away, and which cannot be read, each in a sentence."""

    good: int
    gone: tuple[str, ...]
    unreadable: tuple[str, ...]


def dated(folder: Path, at: datetime) -> Path:
    """A free name for a backup of that moment: ISO 8601, UTC, so that names are in order of time."""
    stem = f"shop-{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    path, number = folder / f"{stem}.tar", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.tar"
    return path


def to_go(good: Mapping[str, bool], keep: int) -> list[str]:
    """Of files by name, each with whether it is good, those that have `keep` newer good ones. Pure."""
    found, newer = [], 0
    for name in sorted(good, reverse=True):
        if newer >= keep:
            found.append(name)
        newer += good[name]
    return sorted(found)


def rotate(folder: Path, keep: int, newest: Path) -> Rotated:
    """Take away what has `keep` newer good ones; `newest` was written and read back just now, of a shop that fitted."""
    notes, unreadable = _read_back(folder, newest)
    good = {name: not one["mismatches"] for name, one in notes.items()}
    gone = [name for name in to_go(good, keep) if name != newest.name]
    for name in gone:
        (folder / name).unlink(missing_ok=True)
    sync_folder(folder)
    write_whole(folder / NOTES, json.dumps({name: one for name, one in notes.items() if name not in gone}, indent=1))
    return Rotated(sum(good[name] for name in notes if name not in gone), tuple(gone), tuple(unreadable))


def _read_back(folder: Path, newest: Path) -> tuple[dict[str, dict[str, Any]], list[str]]:
    """What is known of every dated file that can be read, and what cannot."""
    noted = _noted(folder)
    found: dict[str, dict[str, Any]] = {}
    unreadable = []
    for path in sorted(folder.iterdir()):
        if not _DATED.fullmatch(path.name):
            continue
        is_now = path.stat()
        seen = {"bytes": is_now.st_size, "changed": is_now.st_mtime_ns}
        if path != newest and seen.items() <= noted.get(path.name, {}).items():
            found[path.name] = noted[path.name]
            continue
        try:
            manifest = archive.check(path)
        except (BadInput, OSError) as wrong:
            unreadable.append(f"{path} cannot be read back, and counts as none: {getattr(wrong, 'words', wrong)}")
            continue
        found[path.name] = {**seen, "mismatches": len(manifest.troubles), "root": manifest.root}
    return found, unreadable


def _noted(folder: Path) -> dict[str, dict[str, Any]]:
    try:
        told = json.loads((folder / NOTES).read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):  # then everything is read back anew
        return {}
    return {name: one for name, one in told.items() if isinstance(one, dict)
            and isinstance(one.get("mismatches"), int)} if isinstance(told, dict) else {}


def folder_for(path: Path, *, keep: bool) -> Path | None:
    """The folder that is meant: `path` if it is one or if backups shall be kept in it; None if it is the name of one file."""
    if path.is_dir():
        return path
    if not keep:
        return None
    if path.exists() or path.suffix == ".tar":
        raise BadInput(f"{path} is no folder: name the folder in which the dated backups are kept.")
    try:
        path.mkdir(mode=0o700)
    except FileNotFoundError as wrong:
        raise Unavailable(f"There is no folder {path.parent}: is the disk for backups mounted?") from wrong
    return path
