"""A database beside what an export writes, for what cannot be held in memory: removed before the export has its name."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

AT_ONCE = 500  # rows in memory

_TABLES = """
CREATE TABLE file (sha256 TEXT PRIMARY KEY, name TEXT NOT NULL);
CREATE TABLE place (kind TEXT, id INTEGER, order_id INTEGER, PRIMARY KEY (kind, id)) WITHOUT ROWID;
CREATE TABLE row (id INTEGER PRIMARY KEY, order_id INTEGER, kind TEXT, told TEXT);
CREATE TABLE shared (kind TEXT, id INTEGER, told TEXT, PRIMARY KEY (kind, id)) WITHOUT ROWID;
"""


class Scratch:
    """Names of files, where each row belongs, and rows by order, on the disk. Nothing of it is kept."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "unfinished.db"
        self._raw = sqlite3.connect(self.path, isolation_level=None)
        self._raw.executescript(f"PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA cache_size=-4000; {_TABLES} BEGIN;")

    def close(self) -> None:
        """Remove it."""
        with contextlib.suppress(sqlite3.Error):
            self._raw.execute("COMMIT")
        self._raw.close()
        self.path.unlink(missing_ok=True)

    def name_file(self, sha256: str, name: str) -> None:
        """The name under which a stored file is written; the first one stays."""
        self._raw.execute("INSERT OR IGNORE INTO file VALUES (?, ?)", (sha256, name))

    def file(self, sha256: str) -> str | None:
        """The name of a file."""
        found: str | None = self._one("SELECT name FROM file WHERE sha256 = ?", sha256)
        return found

    def files(self) -> Iterator[tuple[str, str]]:
        """Hash and name of every file."""
        yield from self._raw.execute("SELECT sha256, name FROM file ORDER BY rowid")

    def place(self, kind: str, key: int, order_id: int) -> None:
        """Row `key` of table `kind` belongs to this order."""
        self._raw.execute("INSERT INTO place VALUES (?, ?, ?)", (kind, key, order_id))

    def order_of(self, kind: str, key: int) -> int | None:
        """The order to which a row belongs."""
        found = self._one("SELECT order_id FROM place WHERE kind = ? AND id = ?", kind, key)
        return None if found is None else int(found)

    def add(self, order_id: int, kind: str, told: dict[str, Any]) -> None:
        """A row of an order."""
        self._raw.execute("INSERT INTO row (order_id, kind, told) VALUES (?, ?, ?)", (order_id, kind, json.dumps(told)))

    def share(self, kind: str, key: int, told: dict[str, Any]) -> None:
        """A row that several orders may name."""
        self._raw.execute("INSERT INTO shared VALUES (?, ?, ?)", (kind, key, json.dumps(told)))

    def shared(self, kind: str, key: int | None) -> Any:
        """Such a row, or None."""
        told = self._one("SELECT told FROM shared WHERE kind = ? AND id = ?", kind, key)
        return json.loads(told) if told else None

    def in_order(self) -> None:
        """Once everything is added: find the rows of an order at once."""
        self._raw.execute("CREATE INDEX row_order ON row (order_id)")

    def rows_of(self, order_id: int) -> Iterator[tuple[str, dict[str, Any]]]:
        """Table and row, as they were added."""
        for kind, told in self._raw.execute("SELECT kind, told FROM row WHERE order_id = ? ORDER BY id", (order_id,)):
            yield kind, json.loads(told)

    def _one(self, words: str, *given: object) -> Any:
        found = self._raw.execute(words, given).fetchone()
        return found[0] if found else None
