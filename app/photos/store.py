"""Where bytes lie: under their own SHA-256, written once, never changed."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Protocol

from flask import current_app

from app.config import photo_folder, sync
from app.errors import NotFound, Unavailable

BLOCK = 1 << 20  # bytes of a file in memory, where it is copied
GONE = "The file of this record is not in the store. Run verify, and restore it from a backup."
DAMAGED = ("The file of this record is damaged: it is not what was stored, so it is neither shown nor printed. "
           "Run verify, and restore it from a backup, or add the same picture again.")


class DamagedFile(Unavailable):
    """A file is not what was put into the store."""


class Store(Protocol):
    """What any place for bytes can do."""

    def put(self, data: bytes) -> str: ...

    def get(self, sha256: str) -> bytes: ...

    def has(self, sha256: str) -> bool: ...

    def all(self) -> Iterator[str]: ...

    def check(self) -> None: ...


class FolderStore:
    """A folder of files named by their hash: aa/aabbcc…"""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.root.mkdir(parents=True, exist_ok=True, mode=0o700)

    def put(self, data: bytes) -> str:
        """Keep these bytes; returns their SHA-256. Whole and synced before it returns; OSError if it cannot."""
        sha256 = hashlib.sha256(data).hexdigest()
        if not self.has(sha256) or self.is_damaged(sha256):  # a damaged one is put right by the same bytes
            self.keep(sha256, data)
        return sha256

    def keep(self, sha256: str, data: bytes) -> None:
        """Keep these bytes under this name."""
        self.keep_blocks(sha256, (data,))

    def keep_blocks(self, sha256: str, blocks: Iterable[bytes]) -> None:
        """Keep these bytes under this name, whether or not it is their hash: a backup gives back what was damaged as it was."""
        final = self._path(sha256)
        final.parent.mkdir(exist_ok=True, mode=0o700)
        handle, name = tempfile.mkstemp(dir=self.root, prefix=".part-")
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                for block in blocks:
                    file.write(block)
                file.flush()
                os.fsync(file.fileno())
            part.rename(final)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
        sync_folder(final.parent)
        sync_folder(self.root)

    def get(self, sha256: str) -> bytes:
        """The bytes that were put. NotFound if they are not there, DamagedFile if they are not what was put."""
        try:
            found = self._path(sha256).read_bytes()
        except FileNotFoundError as gone:
            raise NotFound(GONE) from gone
        if hashlib.sha256(found).hexdigest() != sha256:
            raise DamagedFile(DAMAGED)
        return found

    def as_it_lies(self, sha256: str) -> Iterator[bytes]:
        """The file's bytes in blocks, whatever they are: for a backup, which keeps a damaged one too. DamagedFile if unreadable."""
        try:
            with self._path(sha256).open("rb") as file:
                while block := file.read(BLOCK):
                    yield block
        except OSError as wrong:
            raise DamagedFile(f"file {sha256} cannot be read: {wrong.strerror}") from wrong

    def copy(self, sha256: str, target: Path) -> None:
        """The bytes that were put, into a new file, in blocks. NotFound and DamagedFile as from `get`; what it wrote stays."""
        if not self.has(sha256):
            raise NotFound(GONE)
        found = hashlib.sha256()
        with target.open("xb") as file:
            for block in self.as_it_lies(sha256):
                file.write(block)
                found.update(block)
        if found.hexdigest() != sha256:
            raise DamagedFile(DAMAGED)

    def beginning(self, sha256: str) -> bytes:
        """The first bytes of the file, by which its kind is told; b"" if it is not there."""
        try:
            with self._path(sha256).open("rb") as file:
                return file.read(64)
        except OSError:
            return b""

    def size(self, sha256: str) -> int:
        """Bytes of the file; 0 if it is not there any more."""
        try:
            return self._path(sha256).stat().st_size
        except FileNotFoundError:
            return 0

    def hash_of(self, sha256: str) -> str:
        """The SHA-256 of what lies under this name; OSError if it cannot be read."""
        with self._path(sha256).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()

    def is_damaged(self, sha256: str) -> bool:
        """Whether the file is there and is not what was put, or cannot be read."""
        try:
            return self.hash_of(sha256) != sha256
        except FileNotFoundError:
            return False
        except OSError:
            return True

    def put_aside(self, sha256: str) -> None:
        """Out of the store, and kept in the folder `put-aside` beside it. Only while nobody writes."""
        aside = self.root.with_name("put-aside")
        aside.mkdir(exist_ok=True, mode=0o700)
        self._path(sha256).rename(aside / sha256)
        sync_folder(aside)
        sync_folder(self._path(sha256).parent)

    def remove(self, sha256: str) -> None:
        """Out of the store for good; nothing if it is not there. OSError if it cannot be removed."""
        self._path(sha256).unlink(missing_ok=True)
        if self._path(sha256).parent.is_dir():
            sync_folder(self._path(sha256).parent)

    def has(self, sha256: str) -> bool:
        return self._path(sha256).is_file()

    def all(self) -> Iterator[str]:
        for folder in sorted(self.root.glob("??")):  # a folder at a time: a large shop's names are many
            yield from sorted(path.name for path in folder.iterdir())

    def check(self) -> None:
        """OSError if a file cannot be written here."""
        with tempfile.NamedTemporaryFile(dir=self.root, prefix=".part-"):
            pass

    def sweep(self) -> int:
        """Remove what an interrupted write left; returns how many. Only at start, before anybody writes."""
        parts = list(self.root.glob(".part-*"))
        for part in parts:
            part.unlink(missing_ok=True)
        return len(parts)

    def _path(self, sha256: str) -> Path:
        if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
            raise NotFound("There is no such file.")
        return self.root / sha256[:2] / sha256


def open_store(url: str) -> FolderStore:
    """The store at this address: a folder (file://…)."""
    return FolderStore(photo_folder(url))


def the_store() -> FolderStore:
    """The store of the running application."""
    found: FolderStore = current_app.extensions["tagstrip_store"]
    return found


def sync_folder(folder: Path) -> None:
    """The names in this folder are on the disk when it returns."""
    sync(folder)
