"""A shop that has grown: what was written since a mark is copied as often as asked, inside the database.

Orders are told once, by the services; the copies are made from their rows, so that they hold whatever an order holds and keep
every CHECK, key and unique number, in whichever schema stands. Customers and amps are given names, numbers and serials of their
own, for a search to find. The copies share the photos' and papers' files, and the people, instruments and profiles of the shop.

What was signed or printed holds the number and the name of the order that was told: of a copy the shop says, rightly, that this
changed since. Copies have no journal entries unless asked for (`journal=True`): these are chained one by one, which takes most of
the time.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import Session

from app import clock, tables
from app.db import Base
from app.journal.models import JournalEntry
from app.journal.rules import GENESIS, entry_hash
from app.journal.service import stamp
from app.orders import renewal
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.request_cache import forget
from app.search import service as search_service
from app.search.models import is_derived

ROOTS = ("repair_order", "customer", "amp")
# Ids without a key of their own: of whatever the row is about, so they move as that does.
LOOSE = {("issued_document", "about_id"), ("leftover", "record_id"), ("quote_issued_line", "line_root_id")}
# Words that are unique: each copy has its own.
ALONE = {("mail_message", "message_id")}
# Numbers without a gap, of each kind of paper: the copies go on behind the last.
GAPLESS = ("bill", "credit_note")
_ONSETS, _VOWELS, _ENDS = ("b", "d", "f", "g", "h", "l", "m", "n", "r", "s", "t", "v"), "aeiou", ("dell", "ford", "ling", "mere")
_AT_ONCE = 2000

T = TypeVar("T")
Marks = Mapping[str, int]  # the highest id of every table


@dataclass(frozen=True)
class Model:
    """What is copied: the rows above `low` up to `high`, table by table; `stride` is the widest such range."""

    low: Marks
    high: Marks
    stride: int

    @property
    def orders(self) -> int:
        """Orders in each copy."""
        return self.high["repair_order"] - self.low["repair_order"]


def copied() -> list[sa.Table]:
    """The tables of an order: those that hang on one, on a customer or on an amp; what others point at comes first."""
    names = set(ROOTS)
    while more := {table.name for table in tables.metadata.tables.values() if _points_at(table) & names} - names:
        names |= more
    return [table for table in tables.metadata.sorted_tables if table.name in names and not is_derived(table.name)]


def marks(connection: sa.Connection) -> Marks:
    """Where every table stands now. Taken before and after the orders that are to be copied are told."""
    return {table.name: connection.scalar(sa.select(sa.func.max(_key(table)))) or 0 for table in [*copied(), _journal()]}


def model(low: Marks, high: Marks) -> Model:
    """What was written between two marks. ValueError if that was no order."""
    if high["repair_order"] == low["repair_order"]:
        raise ValueError("no order was opened between these marks")
    return Model(low, high, max(high[name] - low[name] for name in high))


@dataclass(frozen=True)
class _Copies:
    """Which copies of what, and how far behind the original each lies: all its ids by the same, so that loose ones fit too."""

    what: Model
    first: int
    last: int
    ids: int  # behind everything that is there
    numbers: int
    gapless: Mapping[str, tuple[int, int]]  # of each such table: how many are copied, and how far the first copy moves

    def behind(self, n: Any) -> Any:
        """How far the ids of copy `n` lie behind the original's: of a number, or of a column of numbers."""
        return (n - self.first) * self.what.stride + self.ids

    def numbered(self, n: Any) -> Any:
        """The same of the order's number."""
        return (n - self.first) * self.what.orders + self.numbers

    def papers(self, name: str, n: Any) -> Any:
        """The same of the number of a bill or a credit note."""
        many, first = self.gapless[name]
        return (n - self.first) * many + first

    @property
    def all(self) -> range:
        return range(self.first, self.last + 1)


def grow(current: Session, what: Model, first: int, last: int, *, journal: bool = False) -> int:
    """Make the copies numbered `first` to `last`, each once, behind all that is there; the number of rows written.

    The numbers are only for the names of people. Inside the application and its transaction: what is worked out from rows, search
    entries and standings, is worked out for the copies too.
    """
    connection = current.connection()
    now = marks(connection)
    number = tables.metadata.tables["repair_order"].c.number
    lowest = connection.scalar(sa.select(sa.func.min(number)).where(_is_model(what, number.table))) or 0
    highest = connection.scalar(sa.select(sa.func.max(number))) or 0
    copies = _Copies(what, first, last, max(now[name] - what.low[name] for name in now), highest - lowest + 1,
                     {name: _gapless(connection, what, tables.metadata.tables[name]) for name in GAPLESS})
    rows = 0
    for table in copied():
        if table.name in ("customer", "amp"):
            rows += _people_and_amps(connection, copies, table)
        else:
            connection.execute(_copying(copies, table))
            mine = sa.select(sa.func.count()).select_from(table).where(_is_model(what, table))
            rows += (connection.scalar(mine) or 0) * len(copies.all)
    if journal:
        rows += _entries(connection, copies)
    if connection.dialect.name == "postgresql":
        _set_counters(connection)
    current.expire_all()
    forget(current)
    _work_out(current, now)
    return rows


def _gapless(connection: sa.Connection, what: Model, table: sa.Table) -> tuple[int, int]:
    """How many numbers the rows to be copied take, and how far the first copy's lie behind them: past the last there is."""
    number = table.c.number
    lowest, highest = connection.execute(sa.select(sa.func.min(number), sa.func.max(number)).where(_is_model(what, table))).one()
    last = connection.scalar(sa.select(sa.func.max(number))) or 0
    return (0, 0) if lowest is None else (highest - lowest + 1, last - lowest + 1)


def _work_out(current: Session, before: Marks) -> None:
    """Search entries of all that is new, and what the new open orders wait for: their rows were copied with the ids of the old."""
    for kind in search_service.known().kinds:
        table = tables.metadata.tables[kind.model.__tablename__]
        if table.name in before:
            search_service.renew(current, kind, set(current.scalars(sa.select(table.c.id).where(table.c.id > before[table.name]))),
                                 empty=True)
    is_open = sa.select(RepairOrder.id).where(RepairOrder.id > before["repair_order"], RepairOrder.ended_as.is_(None))
    renewal.renew(current, current.scalars(is_open).all(), clock.now())


def word(number: int) -> str:
    """An invented surname, another for every number."""
    syllables: list[str] = []
    rest = number
    while rest or not syllables:
        rest, at = divmod(rest, len(_ONSETS) * len(_VOWELS))
        syllables.append(_ONSETS[at // len(_VOWELS)] + _VOWELS[at % len(_VOWELS)])
    return ("".join(syllables) + _ENDS[number % len(_ENDS)]).title()


def _copying(copies: _Copies, table: sa.Table) -> sa.Insert:
    """One statement for all copies of a table's rows."""
    counted = sa.select(sa.literal(copies.first).label("n")).cte("copy", recursive=True)
    copy = counted.union_all(sa.select(counted.c.n + 1).where(counted.c.n < copies.last))
    wanted = (sa.select(*(_value(copies, column, copy.c.n) for column in table.columns))
              .select_from(table.join(copy, sa.true()))
              .where(_is_model(copies.what, table)).order_by(copy.c.n, _key(table)))
    return sa.insert(table).from_select([column.name for column in table.columns], wanted)


def _value(copies: _Copies, column: sa.Column[Any], n: sa.ColumnElement[int]) -> sa.ColumnElement[Any]:
    """What a copy has in this column: its own id, its own fellows, its own number, and the same of all else."""
    low, high = copies.what.low, copies.what.high
    own: sa.ColumnElement[Any] = column
    inside = [sa.and_(column > low[there], column <= high[there])
              for there in (key.column.table.name for key in column.foreign_keys) if there in high]
    if column.primary_key:
        own = column + copies.behind(n)
    elif (column.table.name, column.name) in LOOSE:
        own = sa.case((column > 0, column + copies.behind(n)), else_=column)
    elif (column.table.name, column.name) == ("repair_order", "number"):
        own = column + copies.numbered(n)
    elif column.table.name in GAPLESS and column.name == "number":
        own = column + copies.papers(column.table.name, n)
    elif (column.table.name, column.name) in ALONE:
        own = sa.cast(copies.behind(n), sa.Text).concat("-").concat(column)
    elif inside:
        own = sa.case((inside[0], column + copies.behind(n)), else_=column)
    return own


def _people_and_amps(connection: sa.Connection, copies: _Copies, table: sa.Table) -> int:
    """Through their models, which keep the words that a search looks through."""
    kind: type[Customer | Amp] = Customer if table.name == "customer" else Amp
    found = connection.execute(sa.select(table).where(_is_model(copies.what, table))).mappings().all()
    made = (kind(**{**row, "id": row["id"] + copies.behind(n), **_own(kind, dict(row), n)}) for n in copies.all for row in found)
    rows = 0
    with Session(connection) as session:
        for some in _batches(made):
            session.add_all(some)
            session.flush()
            session.expunge_all()
            rows += len(some)
    return rows


def _own(kind: type[Customer | Amp], row: Mapping[str, Any], n: int) -> dict[str, str]:
    if kind is Amp:
        return {"serial": f"{row['serial']}-{n:05d}"}
    name = f"{row['name'].split()[0]} {word(n)}"
    return {"name": name, "phone": f"555 {row['id'] * 7919 % 90 + 10}{n:06d}",
            "email": f"{name.replace(' ', '.').lower()}@example.org" if row["email"] else ""}


def _entries(connection: sa.Connection, copies: _Copies) -> int:
    """The journal's entries about the copies, each chained to the one before it."""
    table = _journal()
    about = connection.execute(sa.select(table).where(_is_model(copies.what, table)).order_by(table.c.seq)).mappings().all()
    last = connection.execute(sa.select(table.c.seq, table.c.hash).order_by(table.c.seq.desc()).limit(1)).first()
    seq, previous = (last.seq, last.hash) if last else (0, GENESIS)

    def chained() -> Iterator[dict[str, Any]]:
        nonlocal seq, previous
        for n, entry in itertools.product(copies.all, about):
            seq += 1
            facts = {**entry, "seq": seq, "subject_id": _moved(copies, entry["subject_type"], entry["subject_id"], n),
                     "order_id": _moved(copies, "repair_order", entry["order_id"], n)}
            own = entry_hash(previous, {**facts, "at": stamp(facts["at"])})
            yield {**facts, "previous_hash": previous, "hash": own}
            previous = own

    rows = 0
    for some in _batches(chained()):
        connection.execute(sa.insert(table), some)
        rows += len(some)
    return rows


def _moved(copies: _Copies, name: str, number: int | None, n: int) -> int | None:
    if number is None or not copies.what.low.get(name, 0) < number <= copies.what.high.get(name, 0):
        return number
    moved: int = number + copies.behind(n)
    return moved


def _set_counters(connection: sa.Connection) -> None:
    """PostgreSQL counts ids on the side: set each counter behind the highest id."""
    for table in copied():
        highest = sa.select(sa.func.max(_key(table))).scalar_subquery()
        counter = sa.func.pg_get_serial_sequence(table.name, _key(table).name)
        is_counted = sa.and_(counter.is_not(None), sa.exists(sa.select(_key(table))))
        connection.execute(sa.select(sa.func.setval(counter, highest)).where(is_counted))


def _batches(rows: Iterable[T]) -> Iterator[list[T]]:
    waiting = iter(rows)
    while some := list(itertools.islice(waiting, _AT_ONCE)):
        yield some


def _is_model(what: Model, table: sa.Table) -> sa.ColumnElement[bool]:
    """The rows that are copied. A row whose own key is another's, as an order's standing, goes with that one."""
    whose = next((key.column.table.name for key in _key(table).foreign_keys), table.name)
    return sa.and_(_key(table) > what.low[whose], _key(table) <= what.high[whose])


def _points_at(table: sa.Table) -> set[str]:
    return {key.column.table.name for key in table.foreign_keys}


def _journal() -> sa.Table:
    return Base.metadata.tables[JournalEntry.__tablename__]


def _key(table: sa.Table) -> sa.Column[Any]:
    return next(iter(table.primary_key))

