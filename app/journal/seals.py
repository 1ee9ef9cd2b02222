"""What each record looked like when it was last saved, kept in the journal: so that a row which was altered past Tagstrip shows.

Every transaction that wrote records ends with one entry (`records:sealed`) that holds, for each of its rows, the SHA-256 over the
row's columns as they lie in the database; a row that is gone has none. The entry is hashed into the chain like any other, so the
head that a paper prints pins the records too, not only what was said of them. Of a row that was there before, the entry holds too
what the transaction met, the beginning of that hash: what was altered and then saved again stays named. A migration changes rows
as no save does: what was as sealed before it is sealed anew after it, what was not stays a mismatch.

Whoever can write the file can write new seals: only a head on paper, or one kept elsewhere, tells of that.
"""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from types import MappingProxyType
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import ORMExecuteState, Session

from app import clock
from app.db import Base, listen_to_sessions, written_rows
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.journal.rules import GENESIS, PROGRAM_DEVICE, PROGRAM_NAME, canonical, entry_hash, fresh_salt
from app.journal.triggers import DERIVED, MAY_BE_DELETED

# The journal holds itself together; a standing is worked out from the rest, and compared with it; so is an outlook, uncompared.
NOT_SEALED = MAY_BE_DELETED | {JournalEntry.__tablename__, "order_outlook", "order_standing"}
AT_ONCE = 2000  # rows in one entry, where a whole shop is sealed
ASKED_AT_ONCE = 500  # keys in one question
MET = 16  # letters of the hash that a row had before: enough to tell it from its seal
_WRITTEN = "rows written"
_T = TypeVar("_T")


@dataclass
class _Written:
    """What a transaction has written so far."""

    rows: dict[str, set[int]] = field(default_factory=dict)
    whole: set[str] = field(default_factory=set)  # tables of which it is not known which rows
    met: dict[str, str] = field(default_factory=dict)  # what rows that were there before looked like, by "table key"
    born: set[str] = field(default_factory=set)  # rows of this transaction's own
    entry_at: datetime | None = None  # the moment of its newest entry


def sealed(table: str) -> bool:
    """Whether the rows of this table are sealed."""
    return table not in NOT_SEALED and not table.startswith(DERIVED)


def row_hash(row: Mapping[str, Any]) -> str:
    """SHA-256 over a row as its database's driver gives it: the same from SQLite, PostgreSQL, and a restored backup."""
    return hashlib.sha256(canonical({name: _plain(value) for name, value in row.items()}).encode()).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M:%S.%f")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str) and value[:1] in "{[":  # JSON: text in one database, already read in the other
        try:
            return json.loads(value)
        except ValueError:
            return value
    return value


def as_they_stand(connection: sa.Connection, table: str, columns: Collection[str],
                  keys: Collection[int] | None = None) -> Iterator[tuple[int, str]]:
    """Key and hash of the table's rows, of all or of these. Nothing is read as the models would: a row may be damaged."""
    asked: Any = sa.select(*[sa.column(name) for name in columns]).select_from(sa.table(table)).order_by(sa.column("id"))
    some = [asked] if keys is None else [asked.where(sa.column("id").in_(few)) for few in _parts(sorted(keys), ASKED_AT_ONCE)]
    for one in some:
        for row in connection.execute(one):
            told = dict(row._mapping)
            yield told["id"], row_hash(told)


def _parts(all_of_them: Sequence[_T], size: int) -> Iterator[Sequence[_T]]:
    for at in range(0, len(all_of_them), size):
        yield all_of_them[at:at + size]


def last_seals(connection: sa.Connection) -> dict[str, str]:
    """The newest seal of each row, as "table key" → hash; of a row that is gone none is left."""
    return _seals(connection)[0]


def _seals(connection: sa.Connection) -> tuple[dict[str, str], dict[str, str]]:
    """The newest seal of each row, and of each that a later save met otherwise than its seal then said, how."""
    found: dict[str, str] = {}
    otherwise: dict[str, str] = {}
    entry = JournalEntry.__table__.c
    asked = sa.select(entry.seq, entry.before, entry.after).where(entry.event == Event.RECORDS_SEALED.value).order_by(entry.seq)
    for seq, before, after in connection.execute(asked.execution_options(yield_per=1000)):
        for key, met in _read(before).items():
            if key not in found:
                otherwise.setdefault(key, f"had no seal when it was saved again, journal entry {seq}")
            elif not found[key].startswith(str(met)):
                otherwise.setdefault(key, f"was altered before it was saved again, journal entry {seq}")
        for key, value in _read(after).items():
            if value is None:
                found.pop(key, None)
            else:
                found[key] = value
    return found, otherwise


def _read(told: str) -> dict[str, Any]:
    try:
        read = json.loads(told)
    except ValueError:  # damaged: the chain says so, and the rows that it sealed have no seal
        return {}
    return read if isinstance(read, dict) else {}


def tables_with_columns(connection: sa.Connection) -> dict[str, list[str]]:
    """The sealed tables of the database as it stands, whatever its schema, each with its columns."""
    asked = sa.inspect(connection)
    return {name: [one["name"] for one in asked.get_columns(name)] for name in sorted(asked.get_table_names()) if sealed(name)}


def compared(connection: sa.Connection) -> Iterator[tuple[str, str]]:
    """Every row that is not as it was sealed, as "table key" and what is otherwise. Nothing if the shop has no seal yet."""
    wanted, otherwise = _seals(connection)
    yield from otherwise.items()
    if not wanted:
        return
    for table, columns in tables_with_columns(connection).items():
        for key, there in as_they_stand(connection, table, columns):
            kept = wanted.pop(f"{table} {key}", None)
            if kept is None:
                yield f"{table} {key}", "has no seal in the journal"
            elif kept != there:
                yield f"{table} {key}", "is not as it was last saved"
    for name in wanted:
        yield name, "is gone"


def seal_everything(connection: sa.Connection, *, but: Collection[str], now: datetime, reason: str) -> None:
    """Seal each row that is not as its seal says, save those in `but`: for a schema that was carried forward."""
    kept = last_seals(connection)
    fresh: dict[str, str | None] = {}
    for table, columns in tables_with_columns(connection).items():
        for key, there in as_they_stand(connection, table, columns):
            name = f"{table} {key}"
            if kept.pop(name, None) != there and name not in but:
                fresh[name] = there
    fresh.update({name: None for name in kept if name not in but})
    for some in _parts(list(fresh.items()), AT_ONCE):
        _append(connection, dict(some), None, now, reason)


def _append(connection: sa.Connection, rows: Mapping[str, str | None], last_of_this: sa.Row[Any] | None, now: datetime,
            reason: str, met: Mapping[str, str] = MappingProxyType({})) -> None:
    """The entry, in the name of who wrote the one before it in the same transaction, or of the program."""
    entry: Any = JournalEntry.__table__
    last = last_of_this or connection.execute(sa.select(entry).order_by(entry.c.seq.desc()).limit(1)).first()
    facts: dict[str, Any] = {
        "seq": last.seq + 1 if last else 1, "at": now.astimezone(UTC).isoformat(timespec="microseconds"),
        "person_id": last_of_this.person_id if last_of_this else None,
        "person_name": last_of_this.person_name if last_of_this else PROGRAM_NAME,
        "device": last_of_this.device if last_of_this else PROGRAM_DEVICE,
        "event": Event.RECORDS_SEALED.value, "subject_type": entry.name, "subject_id": last.seq if last else 0, "order_id": None,
        "before": canonical(dict(met)), "after": canonical(rows), "reason": reason, "salt": fresh_salt(),
    }
    previous = last.hash if last else GENESIS
    connection.execute(sa.insert(entry).values(
        **{**facts, "at": now}, previous_hash=previous, hash=entry_hash(previous, facts)))


def _meet(current: Session, _context: object, _instances: object) -> None:
    """Before a flush: how the rows look that it will write, as far as this transaction has not written them yet."""
    written: _Written = current.info.setdefault(_WRITTEN, _Written())
    there: dict[str, set[int]] = {}
    for row in itertools.chain(current.deleted, (one for one in current.dirty if current.is_modified(one))):
        if sealed(row.__tablename__):
            there.setdefault(row.__tablename__, set()).add(sa.inspect(row).identity[0])
    for table, keys in there.items():
        _look(current, written, table, keys)


def _look(current: Session, written: _Written, table: str, keys: set[int]) -> None:
    fresh = {key for key in keys if f"{table} {key}" not in written.met and f"{table} {key}" not in written.born}
    if fresh:
        columns = Base.metadata.tables[table].columns.keys()
        written.met.update({f"{table} {key}": met[:MET] for key, met in as_they_stand(current.connection(), table, columns, fresh)})


def _note(current: Session, _context: object) -> None:
    """After a flush: which rows were written, and the newest entry about them."""
    written: _Written = current.info.setdefault(_WRITTEN, _Written())
    for row in written_rows(current):
        if isinstance(row, JournalEntry):
            written.entry_at = row.at
        elif sealed(row.__tablename__):
            written.rows.setdefault(row.__tablename__, set()).add(row.id)
            if row in current.new:
                written.born.add(f"{row.__tablename__} {row.id}")


def _note_statement(asked: ORMExecuteState) -> None:
    """A statement that writes past the records: the rows that it picks out, or, if that cannot be told, all of its table."""
    statement: Any = asked.statement
    table = getattr(statement, "table", None)
    if asked.is_select or table is None or not sealed(table.name):
        return
    written: _Written = asked.session.info.setdefault(_WRITTEN, _Written())
    where = getattr(statement, "whereclause", None)
    if where is None or asked.is_insert:
        written.whole.add(table.name)
    else:
        keys = set(asked.session.scalars(sa.select(table.c.id).where(where)))
        _look(asked.session, written, table.name, keys)
        written.rows.setdefault(table.name, set()).update(keys)


def _seal(current: Session) -> None:
    """Before a commit, after everything else that writes before it."""
    current.flush()
    written: _Written = current.info.pop(_WRITTEN, _Written())
    if not (written.rows or written.whole):
        return
    connection = current.connection()
    fresh: dict[str, str | None] = {}
    for table in sorted(written.rows.keys() | written.whole):
        keys = None if table in written.whole else written.rows[table]
        fresh.update({f"{table} {key}": None for key in keys or ()})
        columns = Base.metadata.tables[table].columns.keys()
        fresh.update({f"{table} {key}": there for key, there in as_they_stand(connection, table, columns, keys)})
    entry: Any = JournalEntry.__table__
    last = connection.execute(sa.select(entry).order_by(entry.c.seq.desc()).limit(1)).first() if written.entry_at else None
    _append(connection, fresh, last, written.entry_at or clock.now(), "", written.met)


def begin_anew(current: Session, names: Collection[str]) -> None:
    """These rows, as "table key", are sealed at the end of this transaction as if they were new: what they were is erased."""
    current.flush()
    written: _Written = current.info.setdefault(_WRITTEN, _Written())
    for name in names:
        written.met.pop(name, None)
        written.born.add(name)


def _let_go(current: Session) -> None:
    current.info.pop(_WRITTEN, None)


def install() -> None:
    """Listen to every session, after the listeners that write before a commit. Called once; again does nothing."""
    listen_to_sessions(before_flush=_meet, after_flush=_note, do_orm_execute=_note_statement,
                       before_commit=_seal, after_rollback=_let_go)
