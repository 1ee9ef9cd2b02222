"""Making a shop from a backup file: on the side first, then under its name in one step."""

from __future__ import annotations

import json
import shutil
import tarfile
from pathlib import Path

import sqlalchemy as sa

from app import config
from app import migrate as schema
from app.backup import archive as form
from app.backup import rows
from app.db import opened
from app.errors import BadInput, Unavailable
from app.photos.store import open_store


def restore(path: Path, data: Path) -> tuple[str, ...]:
    """Check the whole file, then build `data` beside its place and rename it there. Refuses a place that is taken.

    Gives what did not fit in the shop when the backup was made.
    """
    if data.exists() and any(data.iterdir()):
        raise BadInput(f"{data} is not empty; restore into a new folder, then serve that one.")
    manifest = form.check(path)
    if manifest.revision not in schema.known():
        raise Unavailable(f"The backup was written by a newer Tagstrip (schema {manifest.revision}). Use that version.")
    aside = data.with_name(data.name + ".restoring")
    shutil.rmtree(aside, ignore_errors=True)
    try:
        _build(path, manifest, aside)
        if data.exists():
            data.rmdir()
        aside.rename(data)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return manifest.troubles


def _build(path: Path, manifest: form.Manifest, aside: Path) -> None:
    settings = config.load(aside)
    with opened(settings.database_url) as engine:
        with engine.connect() as connection:
            if schema.revision(connection) is not None:
                raise BadInput("The database that TAGSTRIP_DATABASE_URL names is not empty. Restore into an empty one.")
        schema.upgrade(engine, to=manifest.revision)
        with tarfile.open(path, "r:") as archive:
            store = open_store(settings.photo_url)
            for name in manifest.members:
                if name.startswith("files/"):
                    store.keep(name.removeprefix("files/"), form.read(archive, name))
            _fill(engine, archive, manifest)
        if not schema.upgrade(engine):
            schema.describe_for_search(engine)
    config.database_is_there(aside)


def _fill(engine: sa.Engine, archive: tarfile.TarFile, manifest: form.Manifest) -> None:
    tables = sa.MetaData()
    tables.reflect(engine, only=rows.worth_reading)
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        for table in rows.kept(tables):
            name = f"tables/{table.name}.jsonl"
            if name in manifest.members:
                lines = form.read(archive, name).splitlines()
                rows.load(connection, table, [json.loads(line) for line in lines])
        if engine.dialect.name == "postgresql":
            _set_counters(connection, tables)


def _set_counters(connection: sa.Connection, tables: sa.MetaData) -> None:
    """PostgreSQL counts ids on the side: set each counter behind the highest id that was loaded."""
    for table in rows.kept(tables):
        name = connection.execute(sa.text("SELECT pg_get_serial_sequence(:t, 'id')"), {"t": table.name}).scalar() \
            if "id" in table.columns else None
        if name:
            top = connection.execute(sa.select(sa.func.max(table.c.id))).scalar()
            if top:
                connection.execute(sa.text("SELECT setval(CAST(:s AS regclass), :n)"), {"s": name, "n": top})
