"""The backup file: a plain tar with one `tables/<name>.jsonl` a table, one `files/<sha256>` a file, the list of them all in
`members.jsonl` and last `manifest.json`.

Readable without Tagstrip. Names are ours on writing and checked on reading; nothing is ever extracted by an archive's names.
Written and read in blocks: what a shop holds may be larger than the memory. The first format had its list inside the manifest.

The root is one hash over every row and file: SHA-256 over the lines that coreutils' `sha256sum` prints of all tables and files,
sorted by name (see README.md).
"""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, BinaryIO

from app.backup import manifest as manifest_of
from app.backup import tar
from app.backup.manifest import Listed, Manifest, Root
from app.errors import BadInput
from app.photos.store import DamagedFile

MANIFEST, MEMBERS = "manifest.json", "members.jsonl"
_KEPT = re.compile(r"tables/[a-z][a-z0-9_]{0,62}\.jsonl|files/[0-9a-f]{64}")
LONGEST_MANIFEST = 64 << 20  # bytes; the first format's holds a line for each of at most 200,000 members
LONGEST_LINE = 32 << 20  # bytes of one row
MOST_TABLES = 1000


class Writer:
    """Writes members one after the other, and at the end their list and the manifest."""

    def __init__(self, file: BinaryIO) -> None:
        self._file, self._root = file, Root()
        self._list = tempfile.TemporaryFile()  # noqa: SIM115 - closed by end()
        self.members, self.files, self.size = 0, 0, 0

    def add(self, name: str, blocks: Iterable[bytes]) -> None:
        """One member, and its line in the list. If it cannot be read to its end (DamagedFile), it leaves nothing here."""
        found = hashlib.sha256()
        begins = self._file.tell()
        try:
            size = tar.add(self._file, name, hashed(blocks, found))
        except DamagedFile:
            self._file.seek(begins)
            self._file.truncate()
            raise
        self._list.write(Listed(name, found.hexdigest(), size).line)
        self._root.add(name, found.hexdigest())
        self.members += 1
        self.files += name.startswith("files/")
        self.size += size

    def close(self) -> None:
        """Let go of what was noted on the side."""
        self._list.close()

    def end(self, revision: str, made_at: str, journal_head: str, troubles: tuple[str, ...]) -> Manifest:
        """Nothing comes after."""
        found = hashlib.sha256()
        self._list.seek(0)
        tar.add(self._file, MEMBERS, hashed(in_blocks(self._list), found))
        self.close()
        manifest = Manifest(revision, made_at, journal_head, troubles, self._root.hex(), self.members, self.size,
                            found.hexdigest())
        tar.add(self._file, MANIFEST, [manifest.written])
        tar.end(self._file)
        return manifest


def hashed(blocks: Iterable[bytes], into: Any) -> Iterator[bytes]:
    """The same blocks, each added to a hash as it passes."""
    for block in blocks:
        into.update(block)
        yield block


def hash_of(blocks: Iterable[bytes]) -> str:
    """SHA-256 over blocks."""
    found = hashlib.sha256()
    for block in blocks:
        found.update(block)
    return found.hexdigest()


def sizes(file: BinaryIO) -> tuple[int, int]:
    """Bytes of all files and of all tables, as their headers tell."""
    files = tables = 0
    for one in tar.members(file):
        files += one.size if one.name.startswith("files/") else 0
        tables += one.size if one.name.startswith("tables/") else 0
    return files, tables


def in_blocks(file: BinaryIO) -> Iterator[bytes]:
    """A file from where it stands to its end."""
    while block := file.read(tar.AT_ONCE):
        yield block


def jsonl(rows: Iterable[dict[str, Any]]) -> Iterator[bytes]:
    """One JSON object a line."""
    return (json.dumps(row, ensure_ascii=False, sort_keys=True).encode("utf-8", "backslashreplace") + b"\n" for row in rows)


def check(path: Path) -> Manifest:
    """Read the whole archive and hold it against its manifest; BadInput names the first thing that is wrong."""
    with path.open("rb") as file:
        return checked(file)


def checked(file: BinaryIO) -> Manifest:
    """The same of an open file: the headers first, then every byte."""
    manifest = told_by(file)
    for _, blocks in contents(file, manifest):
        for _ in blocks:
            pass
    return manifest


def told_by(file: BinaryIO) -> Manifest:
    """The manifest, once every header is as it should be: names, order, sizes, and nothing too much. No content is read."""
    at_the_end: dict[str, tar.Member] = {}
    tables: set[str] = set()
    last = ""
    number = size = 0
    for one in tar.members(file):
        if one.name in (MEMBERS, MANIFEST):
            if one.name in at_the_end or MANIFEST in at_the_end:
                raise BadInput(f"The backup holds “{one.name}” twice, or out of place.")
            at_the_end[one.name] = one
            continue
        if not _KEPT.fullmatch(one.name):
            raise BadInput(f"The backup holds “{one.name}”, which is not part of a Tagstrip backup.")
        is_table = one.name.startswith("tables/")
        if at_the_end or one.name in tables or (is_table and last) or (not is_table and one.name <= last):
            raise BadInput(f"The backup holds “{one.name}” twice, or out of place.")
        if is_table:
            tables.add(one.name)
            if len(tables) > MOST_TABLES:
                raise BadInput("The backup holds more tables than any Tagstrip has.")
        else:
            last = one.name
        number, size = number + 1, size + one.size
    if MANIFEST not in at_the_end:
        raise BadInput("The backup has no manifest: it was not finished.")
    manifest = manifest_of.read(b"".join(tar.content(file, _bounded(at_the_end[MANIFEST]))))
    if bool(manifest.list_sha256) != (MEMBERS in at_the_end):
        raise BadInput("The backup's list of members is not where its manifest says.")
    _hold_sizes(file, manifest, (number, size))
    return manifest


def contents(file: BinaryIO, manifest: Manifest) -> Iterator[tuple[str, Iterator[bytes]]]:
    """Each member's name and bytes, beside its line in the list; BadInput when a member's last byte came and it is another."""
    for one, listed in _side_by_side(file, manifest):
        found = hashlib.sha256()
        blocks = hashed(tar.content(file, one), found)
        yield one.name, blocks
        for _ in blocks:  # what was not asked for is checked all the same
            pass
        if found.hexdigest() != listed.sha256:
            raise BadInput(f"{one.name} in the backup is not what was written.")


def rows(name: str, blocks: Iterable[bytes]) -> Iterator[dict[str, Any]]:
    """A table's rows; BadInput for what is none."""
    for number, line in enumerate(_lines(name, blocks), 1):
        try:
            row = json.loads(line)
        except (ValueError, RecursionError) as wrong:
            raise BadInput(f"Row {number} of {name} in the backup cannot be read.") from wrong
        if not isinstance(row, dict):
            raise BadInput(f"Row {number} of {name} in the backup is no row.")
        yield row


def _lines(name: str, blocks: Iterable[bytes]) -> Iterator[bytes]:
    left = b""
    for block in blocks:
        *whole, left = (left + block).split(b"\n")
        yield from whole
        if len(left) > LONGEST_LINE:
            raise BadInput(f"A row of {name} in the backup is longer than any that Tagstrip writes.")
    if left:
        yield left


def _bounded(manifest: tar.Member) -> tar.Member:
    if manifest.size > LONGEST_MANIFEST:
        raise BadInput(f"The backup's manifest has {tar.human(manifest.size)}, more than any that Tagstrip writes.")
    return manifest


def _hold_sizes(file: BinaryIO, manifest: Manifest, there: tuple[int, int]) -> None:
    """Every header against the list, before a byte of content is read."""
    if manifest.list_sha256 and hash_of(tar.content(file, _list_of(file))) != manifest.list_sha256:
        raise BadInput(f"{MEMBERS} in the backup is not what was written.")
    for _ in _side_by_side(file, manifest):
        pass
    if there != (manifest.members, manifest.size):
        raise BadInput(f"The backup holds {there[0]} members with {tar.human(there[1])}, and its manifest tells of "
                       f"{manifest.members} with {tar.human(manifest.size)}.")


def _side_by_side(file: BinaryIO, manifest: Manifest) -> Iterator[tuple[tar.Member, Listed]]:
    """Each member with its line of the list. Both are in the same order, so that neither is ever held in memory."""
    listed = _listed(file, manifest)
    for one in tar.members(file):
        if one.name in (MEMBERS, MANIFEST):
            break
        line = next(listed, None)
        if line is None or (line.name != one.name and not _names(file, manifest, one.name)):
            raise BadInput(f"{one.name} in the backup is not in its manifest.")
        if line.name != one.name:
            raise BadInput(f"The backup lacks {line.name}.")
        if line.size != one.size:
            raise BadInput(f"{one.name} in the backup has {tar.human(one.size)}, and its manifest says {tar.human(line.size)}.")
        yield one, line
    if line := next(listed, None):
        raise BadInput(f"The backup lacks {line.name}.")


def _names(file: BinaryIO, manifest: Manifest, name: str) -> bool:
    return any(line.name == name for line in _listed(file, manifest))


def _listed(file: BinaryIO, manifest: Manifest) -> Iterator[Listed]:
    if not manifest.list_sha256:
        yield from (Listed(*one) for one in manifest.told)
        return
    for row in rows(MEMBERS, tar.content(file, _list_of(file))):
        try:
            yield Listed(str(row["name"]), str(row["sha256"]), int(row["size"]))
        except (KeyError, ValueError, TypeError) as wrong:
            raise BadInput(f"{MEMBERS} in the backup cannot be read.") from wrong


def _list_of(file: BinaryIO) -> tar.Member:
    return next(one for one in tar.members(file) if one.name == MEMBERS)
