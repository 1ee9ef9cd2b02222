"""Everything in plain files that need no Tagstrip. Built beside its place and renamed there when it is whole."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from flask import current_app

from app import clock
from app import migrate as schema
from app.backup import rows, standing
from app.backup.room import bytes_of, refuse_no_room
from app.backup.verify import STORED
from app.db import database
from app.errors import BadInput, RuleBroken, Unavailable
from app.exchange import cells
from app.exchange import export_dictionary as described
from app.exchange.dossier import Dossiers, can_be_told
from app.exchange.scratch import AT_ONCE, Scratch
from app.launch.words import VERSION
from app.photos.store import the_store

FORMAT = 1
SECRET = re.compile(r"(password|pin|secret|code|token)_hash")  # of no use to a reader, of some use to a thief
README = Path(__file__).with_name("export-readme.txt")


@dataclass(frozen=True)
class Exported:
    """How much was written."""

    tables: int
    orders: int
    files: int
    lacking: tuple[str, ...] = ()  # what could not be written, each in a line


def export(target: Path) -> Exported:
    """Write it all to a folder that is not there yet or is empty; BadInput if it is neither."""
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BadInput(f"{target} is not empty; name a folder that is not there yet.")
    refuse_no_room(target.parent, bytes_of(database().engine, the_store()), "the export")
    aside = target.with_name(target.name + ".exporting")
    shutil.rmtree(aside, ignore_errors=True)
    try:
        aside.mkdir(parents=True, mode=0o700)
        with closing(Scratch(aside)) as scratch:
            made = _write(aside, scratch)
        if target.exists():
            target.rmdir()
        aside.rename(target)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return made


def _write(aside: Path, scratch: Scratch) -> Exported:
    for name in ("tables", "orders", "files"):
        (aside / name).mkdir(parents=True, mode=0o700)
    engine = database().engine
    isolation = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    with engine.connect().execution_options(**isolation) as connection, connection.begin():
        kept = rows.kept(standing.tables_of(connection))
        revision = schema.revision(connection)
        if not can_be_told(kept):
            raise Unavailable(schema.still_older(revision, current_app.config["DATA"]))
        _names(connection, kept, scratch)
        for table in kept:
            _table(connection, table, aside / "tables" / f"{table.name}.csv")
        orders = 0
        for number, facts in Dossiers(connection, kept, shown, scratch).all():
            (aside / "orders" / f"{number}.json").write_text(json.dumps(facts, ensure_ascii=False, indent=1), encoding="utf-8")
            orders += 1
        facts = {"schema": revision, "journal_head":
                 connection.execute(sa.text("SELECT hash FROM journal_entry ORDER BY seq DESC LIMIT 1")).scalar()}
    written, lacking = _files(aside, scratch)
    scratch.close()
    if lacking:
        (aside / "LACKING.txt").write_text("\n".join(lacking) + "\n", encoding="utf-8")
    (aside / "README.txt").write_text(README.read_text(encoding="utf-8") + described.tables(kept), encoding="utf-8")
    _manifest(aside, facts)
    return Exported(len(kept), orders, written, tuple(lacking))


def _files(aside: Path, scratch: Scratch) -> tuple[int, list[str]]:
    """Every file that a row names, copied in blocks; how many, and what is missing or damaged, each in a line."""
    written, lacking = 0, []
    for sha256, name in scratch.files():
        try:
            the_store().copy(sha256, aside / name)
            written += 1
        except RuleBroken as wrong:
            (aside / name).unlink(missing_ok=True)
            lacking.append(f"{name}: {wrong.words}")
    return written, lacking


def shown(table: sa.Table) -> list[sa.Column[Any]]:
    """The columns that are written: all but hashes of passwords and the like."""
    return [column for column in table.columns if not SECRET.fullmatch(column.name)]


def _table(connection: sa.Connection, table: sa.Table, path: Path) -> None:
    columns = shown(table)
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(cells.line(column.name for column in columns))
        asked = sa.select(*columns).order_by(*table.primary_key.columns).execution_options(yield_per=AT_ONCE)
        for row in connection.execute(asked):
            file.write(cells.line(row))


def _names(connection: sa.Connection, kept: list[sa.Table], scratch: Scratch) -> None:
    """Every stored file that a row names: its hash, and the name under which it is written."""
    for table in kept:
        for column in table.columns:
            if column.info.get(STORED):
                what = column.name.removesuffix("sha256").strip("_") or "original"
                asked = sa.select(table.c.id, column).where(column.is_not(None)).execution_options(yield_per=AT_ONCE)
                for key, sha256 in connection.execute(asked):
                    scratch.name_file(sha256, f"files/{table.name}-{key}-{what}{_ending(sha256)}")


def _ending(sha256: str) -> str:
    begin = the_store().beginning(sha256)
    marks = ((0, b"\xff\xd8\xff", ".jpg"), (0, b"\x89PNG", ".png"), (0, b"%PDF", ".pdf"), (8, b"WEBP", ".webp"),
             (4, b"ftyp", ".heic"))
    return next((end for at, mark, end in marks if begin[at:].startswith(mark)), ".bin")


def _manifest(aside: Path, facts: dict[str, Any]) -> None:
    """Written line by line: a large shop's files are many."""
    told = json.dumps({"format": FORMAT, "tagstrip": VERSION, "made_at": clock.now().isoformat(), **facts}, indent=1)
    with (aside / "manifest.json").open("w", encoding="utf-8") as file:
        file.write(told.removesuffix("\n}") + ',\n "files": {')
        for number, (name, one) in enumerate(_hashes(aside)):
            file.write(f'{"," if number else ""}\n  {json.dumps(name)}: {json.dumps(one)}')
        file.write("\n }\n}\n")


def _hashes(aside: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sorted(path for path in aside.rglob("*") if path.is_file() and path.name != "manifest.json"):
        with path.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        yield path.relative_to(aside).as_posix(), {"sha256": sha256, "bytes": path.stat().st_size}
