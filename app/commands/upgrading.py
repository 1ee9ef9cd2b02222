"""Bringing a shop's database to this version's schema: alone, and only after a copy of everything that was read back."""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import DatabaseError

from app import migrate as schema
from app.backup import backup, rows
from app.commands.opening import reading
from app.config import Config, database_is_there, refuse_lost
from app.db import make_engine
from app.errors import RuleBroken, Unavailable
from app.photos.store import open_store
from app.turns import in_turn, in_use, unused


@dataclass(frozen=True)
class Standing:
    """A database at this version's schema; at which it stood before (None: it was empty), and the file that keeps it as it was."""

    engine: sa.Engine
    before: str | None
    copy: Path | None

    @property
    def changed(self) -> bool:
        return self.before != schema.newest()

    @property
    def words(self) -> str:
        """What was done, for who asked for it."""
        if not self.changed:
            return f"Already at schema {schema.newest()}."
        kept = f" The shop as it was before is kept in {self.copy}, read back and checked." if self.copy else ""
        return f"Brought to schema {schema.newest()}.{kept}"


@contextlib.contextmanager
def brought_up_to_date(found: Config, copy: Path | None = None) -> Iterator[Standing]:
    """The database at this version's schema, in use by us until the block ends. The data folder must be ours alone already.

    `copy` names the file to keep the shop in as it was; it is written only if the shop has rows and the schema changes.
    """
    engine = make_engine(found.database_url)
    with contextlib.ExitStack() as until_the_end:
        until_the_end.callback(engine.dispose)
        with reading(), in_turn(engine):
            standing = _carry(found, engine, copy)
            database_is_there(found.data)
            until_the_end.enter_context(in_use(engine))
        yield standing


def _carry(found: Config, engine: sa.Engine, copy: Path | None) -> Standing:
    before = schema.revision_of(engine)
    if before is None:
        refuse_lost(found.data, "its database is empty")
    if before == schema.newest():
        return Standing(engine, before, None)
    schema.refuse_newer(before)
    with unused(engine):
        kept = _keep(found, engine, copy or _free(found.data)) if before is not None and _has_rows(engine) else None
        try:
            schema.upgrade(engine)
        except (RuleBroken, DatabaseError) as wrong:
            said = wrong.words if isinstance(wrong, RuleBroken) else str(wrong.orig or wrong).splitlines()[0]
            raise Unavailable(f"The migration to schema {schema.newest()} was undone: {said.rstrip('.')}. Nothing was changed."
                              + (f" The shop is also kept in {kept}." if kept else "")) from wrong
    return Standing(engine, before, kept)


def _keep(found: Config, engine: sa.Engine, copy: Path) -> Path:
    try:
        backup.write(copy, engine, open_store(found.photo_url))
    except OSError as wrong:
        if wrong.errno not in (errno.ENOSPC, errno.EDQUOT):
            raise
        raise Unavailable(f"There is no room in {copy.parent} to keep the shop as it is, and nothing is changed before that. Make "
                          f"room, or name another place: ./tagstrip migrate --data {found.data} --backup FILE") from wrong
    return copy


def _free(data: Path) -> Path:
    """A name that no earlier try has taken."""
    number, path = 1, data / f"before-{schema.newest()}.tar"
    while path.exists():
        number += 1
        path = data / f"before-{schema.newest()}-{number}.tar"
    return path


def _has_rows(engine: sa.Engine) -> bool:
    tables = sa.MetaData()
    tables.reflect(engine)
    with engine.connect() as connection:
        return any(connection.execute(sa.select(sa.literal(1)).select_from(table).limit(1)).first() for table in rows.kept(tables))
