"""The database's own journal, torn: whatever is left of it, the shop opens to what was committed, or `verify` names what is not.

A transaction is caught in the act, its pages already spilled into the file; then its journal is cut or a byte of it inverted. How
SQLite rolls back from a hot journal: https://www.sqlite.org/atomiccommit.html.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest
from flask import Flask

from app.db import database, journal_mode, transaction
from tests import factories
from tests.faults import bit_flips

TRIALS = 16
SPILLS = "UPDATE journal_entry SET reason = reason || hex(randomblob(1500))"  # many pages that are there already


@pytest.fixture
def caught(context: Flask, tmp_path: Path) -> tuple[Path, dict[str, object], bytes]:
    """The folder, its committed content, and the journal as it lay beside a file that was half written."""
    for number in range(12):
        with transaction():
            factories.order(amp=factories.amp(model=f"Meridian {number}"))
    data = Path(context.config["DATA"])
    database().close()
    before = bit_flips.content(data / "tagstrip.db")
    assert before is not None
    committed = (data / "tagstrip.db").read_bytes()
    raw = sqlite3.connect(data / "tagstrip.db", isolation_level=None)
    names = [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
    for statement in ("PRAGMA cache_size=5", "BEGIN IMMEDIATE", *(f'DROP TRIGGER "{name}"' for name in names), SPILLS):
        raw.execute(statement)
    beside = "tagstrip.db-wal" if journal_mode() == "WAL" else "tagstrip.db-journal"
    copy = tmp_path / "caught"
    copy.mkdir()
    for name in ("tagstrip.db", beside):
        shutil.copy(data / name, copy / name)
    assert not (copy / "tagstrip.db").read_bytes().startswith(committed), "nothing was spilled"
    raw.execute("ROLLBACK")
    raw.close()
    shutil.copytree(data / "photos", copy / "photos", dirs_exist_ok=True)
    (copy / "secret.key").write_text(context.config["SECRET_KEY"])
    return copy, before, (copy / beside).read_bytes()


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_a_torn_journal_never_leaves_a_gap_unseen(caught: tuple[Path, dict[str, object], bytes]) -> None:
    data, before, whole = caught
    beside = next(path for path in data.iterdir() if path.name.startswith("tagstrip.db-"))
    written = (data / "tagstrip.db").read_bytes()
    chance, came = random.Random(9), []
    for trial in range(TRIALS):
        (data / "tagstrip.db").write_bytes(written)
        torn = bytearray(whole)
        if trial == 0:
            pass  # whole: rolled back to what was committed
        elif trial % 2:
            del torn[chance.randrange(len(torn)):]
        else:
            torn[chance.randrange(len(torn))] ^= 0xFF
        beside.write_bytes(torn)
        code = bit_flips.verified(data)  # whoever opens it first rolls it back
        came.append(bit_flips.judged(bit_flips.content(data / "tagstrip.db") != before, code))
    assert came[0] == "no content", came[0]
    assert {one.partition(":")[0] for one in came} <= {"no content", "named"}, came
    assert "named" in came and came.count("no content") > 1
