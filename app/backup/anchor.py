"""A file on another disk that gets one line a run: when, which journal entry with which hash, which root.

Whoever rewrites the shop's own journal, its seals and all, has not rewritten that file; so what was shortened or altered is named.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from app.errors import BadInput
from app.photos.store import sync_folder

_LINE = re.compile(r"(\S+) entry (\d+) head ([0-9a-f]{64}|none) root ([0-9a-f]{64}|unknown)")


@dataclass(frozen=True)
class Line:
    """What one run found."""

    at: str
    entry: int
    head: str
    root: str


@dataclass(frozen=True)
class Anchored:
    """How many lines fit, and what does not, each in a sentence."""

    fitting: int
    troubles: tuple[str, ...]


def compared(path: Path, hash_of_entry: Callable[[int], str | None]) -> Anchored:
    """Every line against the journal: does it still hold that entry with that hash? An unfinished last line is no line."""
    troubles, fitting, last = [], 0, Line("", 0, "", "")
    for number, text in enumerate(_lines(path), 1):
        told = _LINE.fullmatch(text)
        if told is None:
            troubles.append(f"{path} line {number} is none that Tagstrip wrote: the file was altered, or is another one")
            continue
        line = Line(told[1], int(told[2]), told[3], told[4])
        there = hash_of_entry(line.entry) or "none"
        if line.entry < last.entry:
            troubles.append(f"{path} line {number} tells of entry {line.entry} after entry {last.entry}: "
                            "the journal was shortened between, or lines were moved")
        elif there == line.head:
            fitting += 1
        elif there == "none":
            troubles.append(f"the journal was shortened: on {line.at} it held entry {line.entry}, which is not there")
        else:
            troubles.append(f"the journal was altered: on {line.at} its entry {line.entry} had another hash, {line.head[:16]}…")
        last = line
    return Anchored(fitting, tuple(troubles))


def add(path: Path, entry: int, head: str, root: str, now: datetime) -> None:
    """One line more, on the disk before it returns; OSError if it cannot be written."""
    begins = not path.exists()
    text = f"{now.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ} entry {entry} head {head or 'none'} root {root or 'unknown'}\n"
    with path.open("a+b") as file:
        if file.tell() and not _ends_whole(file.fileno(), file.tell()):
            text = "\n" + text
        file.write(text.encode())
        file.flush()
        os.fsync(file.fileno())
    if begins:
        sync_folder(path.parent)


def _ends_whole(handle: int, size: int) -> bool:
    return os.pread(handle, 1, size - 1) == b"\n"


def _lines(path: Path) -> Iterable[str]:
    if not path.exists():
        return
    if not path.is_file():
        raise BadInput(f"{path} is no file: name the file that gets a line for each run.")
    with path.open("rb") as file:
        for raw in file:
            text = raw.decode("ascii", "replace").strip()
            if not raw.endswith(b"\n") and not _LINE.fullmatch(text):
                return  # a run was ended while it wrote: nothing comes after
            if text:
                yield text
