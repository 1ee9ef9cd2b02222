"""Shops as released versions left them, kept as rows in `shops/`, one file a version, to be carried forward by every later one.

To keep the shop of a version that is released, in a checkout of that version:

    ./tagstrip demo --data old-shop --no-browser         (end it with Ctrl-C once it serves)
    .venv/bin/python -m tests.migrations.old_shops old-shop

It names the tables that hold no row; fill those through the pages or services, and keep it again.
"""

from __future__ import annotations

import gzip
import json
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from app import migrate
from app import tables as models
from app.backup import restore, rows
from app.backup.verify import STORED
from app.db import make_engine
from app.launch.words import VERSION
from app.photos.store import FolderStore

SHOPS = Path(__file__).parent / "shops"
Row = dict[str, Any]


@dataclass(frozen=True)
class OldShop:
    """Every row of every table, at the schema of its time."""

    version: str
    revision: str
    tables: dict[str, list[Row]]


def kept() -> list[Path]:
    """The files, oldest version first."""
    return sorted(SHOPS.glob("*.json.gz"), key=lambda path: [int(part) for part in path.name.removesuffix(".json.gz").split(".")])


def read(path: Path) -> OldShop:
    return OldShop(**json.loads(gzip.decompress(path.read_bytes())))


def fill(engine: sa.Engine, shop: OldShop) -> None:
    """Make this shop in a database that has no tables: at its own schema, its triggers standing."""
    migrate.upgrade(engine, to=shop.revision)
    tables = sa.MetaData()
    tables.reflect(engine)
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        for table in tables.sorted_tables:
            rows.load(connection, table, shop.tables.get(table.name, []))
        if engine.dialect.name == "postgresql":
            restore._set_counters(connection, tables)


def with_files(shop: OldShop, store: FolderStore) -> OldShop:
    """The same shop with a small file in the store for each one that its rows name: the true ones are not kept."""
    given = dict(shop.tables)
    for table in models.metadata.sorted_tables:
        for column in table.columns:
            if column.info.get(STORED):
                given[table.name] = [{**row, column.name: store.put(f"instead of {row[column.name]}".encode())}
                                       for row in given.get(table.name, [])]
    return replace(shop, tables=given)


def taken(connection: sa.Connection) -> dict[str, list[Row]]:
    """Every row of a database, as plain JSON."""
    tables = sa.MetaData()
    tables.reflect(connection)
    return {table.name: list(rows.dump(connection, table)) for table in tables.sorted_tables if table.name != "alembic_version"}


def main(data: Path) -> None:
    """Keep the shop in this data folder as the one of this version."""
    engine = make_engine(f"sqlite:///{data / 'tagstrip.db'}")
    with engine.connect() as connection:
        told = {"version": VERSION, "revision": migrate.revision(connection), "tables": taken(connection)}
    engine.dispose()
    SHOPS.mkdir(exist_ok=True)
    path = SHOPS / f"{VERSION}.json.gz"
    text = json.dumps(told, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    path.write_bytes(gzip.compress(text.encode(), 9, mtime=0))
    print(f"{path}: {path.stat().st_size / 1000:.0f} kB, {sum(map(len, told['tables'].values()))} rows.")
    if empty := [name for name, found in told["tables"].items() if not found]:
        print(f"Without a row: {', '.join(empty)}.")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
