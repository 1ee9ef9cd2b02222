"""One bit of the database file turned over at a time: is what it changed named, and in words?

    .venv/bin/python -m tests.faults.bit_flips 1000    on the filled shop (by hand: some seconds for each flip)

A flip counts as a change of content if any row of a table that is kept reads otherwise, or cannot be read. Then `verify` must end
with 1 and name it; whatever was flipped, it must not end in a traceback. Goal: every change named, no traceback.
"""

from __future__ import annotations

import contextlib
import io
import random
import shutil
import sqlite3
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from app.cli import main
from app.journal.seals import sealed

JOURNAL = "journal_entry"


def content(database: Path) -> dict[str, Any] | None:
    """Every row of every table that is kept, as the driver reads it; None if that fails."""
    try:
        with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as raw:
            names = [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
            return {name: raw.execute(f'SELECT * FROM "{name}"').fetchall() for name in names  # noqa: S608 - its own tables
                    if sealed(name) or name == JOURNAL}
    except (sqlite3.Error, UnicodeDecodeError):
        return None


def outcome(data: Path, before: dict[str, Any]) -> str:
    """What `verify` makes of the shop in this folder: "named", "silent", "no content" or "traceback: …"."""
    changed = content(data / "tagstrip.db") != before
    return judged(changed, verified(data))


def judged(changed: bool, code: int | str) -> str:
    """What it is worth that `verify` ended so over content that was changed or was not."""
    if isinstance(code, str):
        return code
    if not changed:
        return "no content"
    return "named" if code else "silent"


def verified(data: Path) -> int | str:
    """How `verify` ends over the shop in this folder: its code, or the traceback."""
    said = io.StringIO()
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            return main(["verify", "--data", str(data)])
    except BaseException:  # noqa: BLE001 - whatever it is, nobody at a shop can read it
        return "traceback: " + traceback.format_exc()


def flips(data: Path, number: int, seed: int) -> Iterator[tuple[int, int, str]]:
    """Offset, bit and outcome of so many flips, each in a copy of this folder."""
    chance = random.Random(seed)
    whole = (data / "tagstrip.db").read_bytes()
    used = [at for at, byte in enumerate(whole) if byte]  # most of a small shop's file is empty pages
    before = content(data / "tagstrip.db")
    assert before, "the shop cannot be read before anything was flipped"
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "shop"
        shutil.copytree(data, copy)
        for _ in range(number):
            at, bit = chance.choice(used), chance.randrange(8)
            damaged = bytearray(whole)
            damaged[at] ^= 1 << bit
            (copy / "tagstrip.db").write_bytes(damaged)
            for beside in ("tagstrip.db-wal", "tagstrip.db-shm", "tagstrip.db-journal"):
                (copy / beside).unlink(missing_ok=True)
            yield at, bit, outcome(copy, before)


def told(data: Path, number: int, seed: int, say: Callable[[str], None]) -> Counter[str]:
    """The outcomes counted; what is not as it should be is said at once."""
    found: Counter[str] = Counter()
    for at, bit, came in flips(data, number, seed):
        found[came.partition(":")[0]] += 1
        if came not in ("named", "no content"):
            say(f"byte {at}, bit {bit}: {came}")
    return found


if __name__ == "__main__":
    from tests.whole_shop import play_it

    with tempfile.TemporaryDirectory() as place:
        shop = play_it(Path(place)).data
        print(dict(told(shop, int(sys.argv[1]) if len(sys.argv) > 1 else 200, 1, print)))
