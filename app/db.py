"""The database: base class, column types, the session of a request and the one way to write.

SQLite is the default, PostgreSQL when its address is given. Writers queue: on SQLite behind a process lock and
BEGIN IMMEDIATE, on PostgreSQL behind an advisory lock that ends with the transaction. So a journal entry can
take the next number, and no reader-turned-writer can meet a lock it cannot get.
"""

from __future__ import annotations

import enum
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from flask import current_app, g
from sqlalchemy.orm import DeclarativeBase, Mapped, Session, declared_attr, mapped_column

WAL_IS_SOUND_FROM = (3, 51, 3)  # before it, two connections at once could lose a WAL reset
BUSY_SECONDS = 15
CONNECT_SECONDS = 5  # a PostgreSQL that is away is said to be so, instead of pages that hang
THREADS = 16  # that answer requests at once; each may need a connection beside that of its session
_WRITE_LOCK_KEY = 0x7A65  # any fixed number: on PostgreSQL it names the one writer at a time; app/turns.py has the next


class UtcTime(sa.TypeDecorator[datetime]):
    """A moment: aware on our side, plain UTC in the store. Refuses a time without a zone."""

    impl = sa.DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value!r} has no time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)


def words(kind: type[enum.StrEnum], constraint: str | None = None) -> sa.Enum:
    """A column type for one of a closed list of words, held by a CHECK constraint.

    Two columns of one table with the same list need two names: give `constraint`.
    """
    return sa.Enum(kind, native_enum=False, create_constraint=True, length=40, name=constraint or kind.__name__.lower(),
                   values_callable=lambda members: [m.value for m in members])


def default_in_store(column: sa.Column[Any]) -> None:
    """Give a column that is never empty its model's default in the database too: a table that has rows can then take it.

    Only where one plain value was declared; a default that is computed for each new row says nothing about old ones.
    """
    default = column.default
    if column.nullable or column.server_default is not None or not isinstance(default, sa.ColumnDefault) or not default.is_scalar:
        return
    value = default.arg.value if isinstance(default.arg, enum.Enum) else default.arg
    if isinstance(value, bool):
        column.server_default = sa.DefaultClause(sa.true() if value else sa.false())
    elif isinstance(value, str | int | float):
        column.server_default = sa.DefaultClause(str(value))


class Base(DeclarativeBase):
    """All tables. The naming convention lets migrations find a constraint by its name."""

    def __init_subclass__(cls, **given: Any) -> None:
        super().__init_subclass__(**given)
        if isinstance(cls.__table__, sa.Table):
            for column in cls.__table__.columns:
                default_in_store(column)

    metadata = sa.MetaData(naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    })
    type_annotation_map = {datetime: UtcTime(), str: sa.Text()}


class Versioned:
    """A record that two people may edit: every save counts its version up, and a save on an old one is refused."""

    version: Mapped[int] = mapped_column(nullable=False, default=1)

    @declared_attr.directive
    @classmethod
    def __mapper_args__(cls) -> dict[str, Any]:
        return {"version_id_col": cls.__table__.c.version}  # type: ignore[attr-defined]


def make_engine(url: str) -> sa.Engine:
    """An engine for this address, with the settings that keep an acknowledged write."""
    if not url.startswith("sqlite"):
        engine = sa.create_engine(url, pool_pre_ping=True, pool_size=THREADS, max_overflow=THREADS, hide_parameters=True,
                                  connect_args={"connect_timeout": CONNECT_SECONDS,
                                                "tcp_user_timeout": round(BUSY_SECONDS * 1000)})
        sa.event.listen(engine, "handle_error", _first_line)
        return engine
    name = url.removeprefix("sqlite:///") if url.startswith("sqlite:///") else None
    # A folder may be called what it likes: its name is no address, in which ? and % would mean something.
    engine = sa.create_engine(sa.URL.create("sqlite", database=name), poolclass=sa.QueuePool, pool_size=THREADS,
                              max_overflow=THREADS, hide_parameters=True,
                              connect_args={"check_same_thread": False, "timeout": BUSY_SECONDS})
    sa.event.listen(engine, "connect", _set_up_sqlite)
    sa.event.listen(engine, "begin", _begin_sqlite)
    return engine


def _first_line(context: sa.engine.ExceptionContext) -> None:
    """Of what the driver says keep what is wrong, not the lines below it with somebody's entry (PostgreSQL's DETAIL)."""
    for wrong in (context.original_exception, context.sqlalchemy_exception):
        if wrong is not None and wrong.args and isinstance(wrong.args[0], str):
            wrong.args = (wrong.args[0].split("\n")[0], *wrong.args[1:])


@contextmanager
def opened(url: str) -> Iterator[sa.Engine]:
    """An engine for as long as the block lasts. However it ends, every connection is closed."""
    engine = make_engine(url)
    try:
        yield engine
    finally:
        engine.dispose()


def journal_mode() -> str:
    """WAL where this SQLite has the WAL-reset bug fixed, a rollback journal elsewhere."""
    return "WAL" if sqlite3.sqlite_version_info >= WAL_IS_SOUND_FROM else "TRUNCATE"


def _set_up_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves
    for pragma in ("foreign_keys=ON", f"journal_mode={journal_mode()}", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: sa.Connection) -> None:
    writing = connection.get_execution_options().get("writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def queue_to_write(connection: sa.Connection) -> None:
    """Wait until no other process writes, and be the one that does until this transaction ends (SQLite: BEGIN IMMEDIATE did it)."""
    if connection.dialect.name == "postgresql":
        connection.execute(sa.text("SELECT pg_advisory_xact_lock(:key)"), {"key": _WRITE_LOCK_KEY})


class Database:
    """One engine, the lock its writers queue at, and what this process remembers beside it: nothing that must be kept."""

    def __init__(self, engine: sa.Engine) -> None:
        self.engine = engine
        self.lock = threading.Lock()
        self.memory: dict[str, Any] = {}
        # A connection to SQLite that was made while nothing could be written stays so: the next save needs others.
        self.connect_again = False

    def close(self) -> None:
        """Close every connection. The next use opens others."""
        self.engine.dispose()


def database() -> Database:
    """The database of the running application."""
    found: Database = current_app.extensions["tagstrip_db"]
    return found


def session() -> Session:
    """The session of this request (or command): made at first use, closed at its end."""
    if "db_session" not in g:
        g.db_session = Session(database().engine)
    found: Session = g.db_session
    return found


def end_reading() -> None:
    """Let go of what was read, so that nobody waits for us; the next read sees the newest state."""
    if "db_session" in g:
        g.db_session.rollback()


@contextmanager
def transaction() -> Iterator[Session]:
    """Everything written inside is kept together or not at all. Not to be nested: services never open one.

    What was read before is read anew inside, under the lock.
    """
    if g.get("db_writing"):
        raise RuntimeError("transaction() inside transaction(): services do not commit")
    current = session()
    current.rollback()
    where = database()
    with where.lock:
        if where.connect_again:
            where.connect_again = False
            where.close()
        g.db_writing = True
        try:
            connection = current.connection(execution_options={"writing": True})
            queue_to_write(connection)
            yield current
            current.commit()
        except BaseException:
            current.rollback()
            raise
        finally:
            g.db_writing = False


def listen_to_sessions(**listeners: Callable[..., None]) -> None:
    """Have each listener called on that event of every session; one that listens already is left. They are called in this order."""
    for name, listener in listeners.items():
        if not sa.event.contains(Session, name, listener):
            sa.event.listen(Session, name, listener)


def written_rows(current: Session) -> Iterator[Any]:
    """The records that a flush wrote, or is about to write: new ones, deleted ones, and those that differ."""
    yield from current.new
    yield from current.deleted
    yield from (one for one in current.dirty if current.is_modified(one))


def close_session(_error: BaseException | None = None) -> None:
    """Called when a request or command ends."""
    found: Session | None = g.pop("db_session", None)
    if found is not None:
        found.close()
