"""What commands begin with: the application on a data folder, and the folder to oneself."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy.exc import SQLAlchemyError

from app import config, create_app
from app import migrate as schema
from app.backup.place import refuse_missing, refuse_network
from app.commands.troubles import USELESS, in_words
from app.db import BUSY_SECONDS
from app.errors import RuleBroken, Unavailable
from app.photos import identity
from app.photos.store import open_store

if TYPE_CHECKING:
    from flask import Flask

IN_USE = "in-use"
COPIES, READING = ".as-of-now-", "tagstrip-reading-"  # begin the folder of a copy; the process follows


def settings(data: Path, *, secure: bool = False, new: bool = False) -> config.Config:
    """The settings of a data folder. Unavailable if it is not there (unless it may be `new`) or cannot be relied on."""
    url = os.environ.get("TAGSTRIP_DATABASE_URL", "")
    if not url and _is_gone(data / config.DATABASE):
        config.refuse_lost(data, f"its database ({config.DATABASE}) is {_is_gone(data / config.DATABASE)}")
    if not new:
        refuse_missing(data, sqlite=not url)
    if not url or url.startswith("sqlite"):
        refuse_network(data)
    return config.load(data, secure_cookies=secure)


def _is_gone(database: Path) -> str:
    """A SQLite file without a byte is what remains where one was lost, or where a first start was killed."""
    return "missing" if not database.exists() else "" if database.stat().st_size else "empty"


@contextlib.contextmanager
def application(data: Path, *, older: bool = False) -> Iterator[Flask]:
    """Inside the application on this data folder, its database closed at the end.

    Unavailable if the database stands at another schema than this version's: nothing is changed here. `older`: one that an
    older version wrote is good enough, because it is only read, and it is read from a copy, so that no save waits for it.
    """
    with contextlib.ExitStack() as stack:
        found = settings(data)
        yield stack.enter_context(_on(stack.enter_context(_as_of_now(found)) if older else found, data, older=older))


@contextlib.contextmanager
def _as_of_now(found: config.Config) -> Iterator[config.Config]:
    """On a SQLite file, a copy of it as of one moment, page by page, with what is damaged in it; PostgreSQL does that itself."""
    if not found.database_url.startswith("sqlite:///"):
        yield found
        return
    _clear_away(found.data)
    with tempfile.TemporaryDirectory(prefix=f"{COPIES}{os.getpid()}-", dir=_where_it_fits(found.data)) as folder:
        copy = Path(folder) / "tagstrip.db"
        source = found.database_url.removeprefix("sqlite:///")
        try:
            with closing(sqlite3.connect(source, timeout=BUSY_SECONDS)) as there, closing(sqlite3.connect(copy)) as here:
                there.backup(here, progress=_patience())
        except (sqlite3.Error, UnicodeDecodeError):  # it cannot be copied as a database: it is looked at where it lies
            yield found
            return
        yield dataclasses.replace(found, database_url=f"sqlite:///{copy}")


@contextlib.contextmanager
def to_read_from(found: config.Config) -> Iterator[config.Config]:
    """For a folder that can only be read: settings on a copy of its SQLite files, in which signing in can be kept; gone at the end.

    The files are copied and not the database: a journal that a crash left beside it has to be played back first, and cannot be
    there. Nobody writes them meanwhile: the folder is ours alone. On PostgreSQL the database itself.
    """
    found = dataclasses.replace(found, read_only=True)
    if not found.database_url.startswith("sqlite:///"):
        yield found
        return
    _clear_away(Path(tempfile.gettempdir()), READING)
    with tempfile.TemporaryDirectory(prefix=f"{READING}{os.getpid()}-") as folder:
        source = Path(found.database_url.removeprefix("sqlite:///"))
        for part in ("", "-journal", "-wal"):
            if source.with_name(source.name + part).exists():
                shutil.copyfile(source.with_name(source.name + part), Path(folder) / f"{config.DATABASE}{part}")
        yield dataclasses.replace(found, database_url=f"sqlite:///{Path(folder) / config.DATABASE}")


def _patience() -> Callable[[int, int, int], None]:
    """Of itself the copying of a database waits for ever while another program holds it."""
    until = time.monotonic() + BUSY_SECONDS

    def step(status: int, _left: int, _all: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > until:
            raise sqlite3.OperationalError("database is locked")

    return step


def _clear_away(folder: Path, prefix: str = COPIES) -> None:
    """Copies of commands that were killed."""
    for left in folder.glob(f"{prefix}*-*"):
        try:
            os.kill(int(left.name.removeprefix(prefix).partition("-")[0]), 0)
        except ProcessLookupError:
            shutil.rmtree(left, ignore_errors=True)
        except (PermissionError, ValueError):  # somebody else's, or no copy of ours
            continue


def _where_it_fits(data: Path) -> Path | None:
    """The data folder, or, if nothing may be written there, the system's place for such files."""
    return data if os.access(data, os.W_OK) else None


@contextlib.contextmanager
def _on(found: config.Config, data: Path, *, older: bool) -> Iterator[Flask]:
    app = create_app(found)
    engine = app.extensions["tagstrip_db"].engine
    try:
        with reading():
            there = schema.revision_of(engine)
        if there is None:
            config.refuse_lost(data, "its database is empty")
            raise Unavailable(f"{data} holds no shop yet; start one with: ./tagstrip serve --data {data}")
        schema.refuse_newer(there)
        if there != schema.newest() and not older:
            raise Unavailable(schema.still_older(there, data))
        with reading():
            identity.refuse_other(engine, open_store(found.photo_url))
        with reading(), app.app_context():
            yield app
    finally:
        engine.dispose()


@contextlib.contextmanager
def reading() -> Iterator[None]:
    """Unavailable, in a line, if the database does not answer or is none."""
    try:
        yield
    except (SQLAlchemyError, UnicodeDecodeError) as wrong:
        raise Unavailable(in_words(wrong) or USELESS) from wrong


@contextlib.contextmanager
def alone(data: Path) -> Iterator[None]:
    """One process owns a data folder; a second one is told who holds it."""
    import fcntl

    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    read_only = config.is_read_only(data)
    if read_only and not (data / IN_USE).exists():  # nobody can have written there
        yield
        return
    with (data / IN_USE).open("r" if read_only else "a+", encoding="ascii") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            file.seek(0)
            raise RuleBroken(f"{data} is in use by process {file.read().strip() or '?'}; "
                             "one Tagstrip at a time may work on it. End that one first.") from None
        if read_only:
            yield
            return
        file.seek(0)
        file.truncate()
        file.write(str(os.getpid()))
        file.flush()
        yield
