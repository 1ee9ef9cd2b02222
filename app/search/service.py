"""Keeping the index in step: whatever a save touches, its entries are renewed in the same transaction.

Nobody has to call anything. A listener on every session notes which rows were written; before the commit, each kind says
which of its records those rows concern, describes them, and what differs is written. A bulk statement on such a table would
pass by unseen, so it is refused.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import ORMExecuteState, Session

from app.access.rules import May
from app.db import Base
from app.search.models import ROOM_OF_A_KIND, Kind, SearchEntry
from app.search.rules import haystack

AT_ONCE = 500  # records described with one set of queries
_MARKS = "rows to find again"
Ids = Collection[int]


@dataclass(frozen=True)
class Entry:
    """How one record is found: what it is called, its facts (label, value), and further words that are not shown."""

    record_id: int
    order_id: int | None
    title: str
    facts: tuple[tuple[str, str], ...]
    also: tuple[str, ...] = ()

    def row(self, kind: Kind) -> dict[str, Any]:
        facts = [[label, value] for label, value in self.facts if value.strip()]
        return {"id": kind.entry_id(self.record_id), "kind": kind.value, "record_id": self.record_id, "order_id": self.order_id,
                "title": self.title, "facts": facts,
                "words": haystack([self.title, *(value for _, value in facts), *self.also])}


@dataclass(frozen=True)
class Source:
    """A table that a kind's entries are made from: which columns matter, and which records some of its rows concern.

    `follows`: columns that name a row of another table, whose old and new row are concerned as if they had been written.
    """

    model: type[Base]
    columns: frozenset[str]
    concerned: Callable[[Ids], sa.Select[Any] | sa.CompoundSelect[Any]] | None = None  # None: the row is the record itself
    follows: Mapping[str, type[Base]] = field(default_factory=dict)


@dataclass(frozen=True)
class Finds:
    """One kind of record that is found: who may see it, where it stands, what it is made of, how it is described."""

    kind: Kind
    need: May
    link: Callable[[int, int | None], tuple[str, dict[str, Any]]]  # record and order → endpoint and values of its page
    sources: tuple[Source, ...]
    describe: Callable[[Session, Ids], Iterable[Entry]]
    model: type[Base]


@dataclass(frozen=True)
class Everything:
    """All that search knows of the rooms, handed in by app/search_kinds.py."""

    kinds: tuple[Finds, ...] = ()
    order_warnings: Callable[[Session, Ids], dict[int, str]] = lambda _session, _ids: {}  # order id → what warns about it
    amp_warnings: Callable[[Session, Ids], dict[int, str]] = lambda _session, _ids: {}
    tags: Callable[[Session, Sequence[str]], list[Tag]] = lambda _session, _words: []


@dataclass(frozen=True)
class Tag:
    """A tag on a removed part, found by what is written on it."""

    title: str
    order_id: int
    link: tuple[str, dict[str, Any]]


_known = Everything()


def know(everything: Everything) -> None:
    """Say what can be found. Called once, by app/search_kinds.py."""
    global _known
    _known = everything


def known() -> Everything:
    """What can be found."""
    return _known


def renew(current: Session, kind: Finds, ids: Ids, *, empty: bool = False) -> int:
    """Write what differs from the records with these ids; how many entries that were. `empty`: nothing is described yet."""
    changed = 0
    for some in _batched(sorted(ids)):
        wanted = {row["id"]: row for row in (entry.row(kind.kind) for entry in kind.describe(current, some))}
        there = {} if empty else _rows(current, [kind.kind.entry_id(one) for one in some])
        new = [row for key, row in wanted.items() if key not in there]
        if new:
            current.execute(sa.insert(SearchEntry), new)
        for key, row in wanted.items():
            if key in there and there[key] != row:
                current.execute(sa.update(SearchEntry.__table__).where(SearchEntry.id == key).values(**row))  # type: ignore[arg-type]
                changed += 1
        gone = [key for key in there if key not in wanted]
        if gone:
            current.execute(sa.delete(SearchEntry).where(SearchEntry.id.in_(gone)))
        changed += len(new) + len(gone)
    return changed


def renew_all(current: Session, *, empty: bool = False) -> int:
    """The whole index from the records; how many entries were not as they should be."""
    changed = 0
    for kind in _known.kinds:
        records = current.scalars(sa.select(kind.model.id)).all()  # type: ignore[attr-defined]
        stored = current.scalars(sa.select(SearchEntry.record_id).where(_of(kind.kind))).all()
        changed += renew(current, kind, {*records, *stored}, empty=empty)
    return changed


def differences(current: Session) -> Iterator[str]:
    """Every entry that is not what its record says, in words. Nothing is changed."""
    for kind in _known.kinds:
        records = set(current.scalars(sa.select(kind.model.id)))  # type: ignore[attr-defined]
        records |= set(current.scalars(sa.select(SearchEntry.record_id).where(_of(kind.kind))))
        for some in _batched(sorted(records)):
            wanted = {row["id"]: row for row in (entry.row(kind.kind) for entry in kind.describe(current, some))}
            there = _rows(current, [kind.kind.entry_id(one) for one in some])
            for key in sorted(wanted.keys() | there.keys()):
                if wanted.get(key) != there.get(key):
                    what = "is missing" if key not in there else "should not be there" if key not in wanted else "is out of step"
                    yield (f"search: the entry of {kind.kind.value} {key - kind.kind.first_id} {what} "
                           "(migrate --search rebuilds it)")


def _rows(current: Session, keys: Sequence[int]) -> dict[int, dict[str, Any]]:
    asked = sa.select(SearchEntry.__table__).where(SearchEntry.id.in_(keys))
    return {row["id"]: dict(row) for row in current.execute(asked).mappings()}


def _of(kind: Kind) -> sa.ColumnElement[bool]:
    return SearchEntry.id.between(kind.first_id, kind.first_id + ROOM_OF_A_KIND - 1)


def _batched(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(ids), AT_ONCE):
        yield ids[start:start + AT_ONCE]


def _note(current: Session, _context: object) -> None:
    """After a flush: which rows were written whose kinds want to know."""
    marks: dict[type[Base], set[int]] = current.info.setdefault(_MARKS, {})
    for row in itertools.chain(current.new, current.dirty, current.deleted):
        for kind in _known.kinds:
            for source in kind.sources:
                if isinstance(row, source.model):
                    _mark(marks, source, row, new=row in current.new or row in current.deleted)


def _mark(marks: dict[type[Base], set[int]], source: Source, row: Any, *, new: bool) -> None:
    attributes = sa.inspect(row).attrs
    written = {name for name in source.columns | source.follows.keys() if new or attributes[name].history.has_changes()}
    if not written:
        return
    marks.setdefault(source.model, set()).add(row.id)
    for name in written & source.follows.keys():
        history = attributes[name].history
        old_and_new = {one for one in (*history.added, *history.deleted, getattr(row, name)) if one is not None}
        marks.setdefault(source.follows[name], set()).update(old_and_new)


def _renew_noted(current: Session) -> None:
    """Before a commit: every entry that the written rows concern."""
    current.flush()
    marks: dict[type[Base], set[int]] = current.info.pop(_MARKS, {})
    if not marks:
        return
    for kind in _known.kinds:
        ids: set[int] = set()
        for source in kind.sources:
            if written := marks.get(source.model):
                ids |= set(written) if source.concerned is None else _concerned(current, source.concerned, written)
        if ids:
            renew(current, kind, ids)


def _concerned(current: Session, asked: Callable[[Ids], Any], written: set[int]) -> set[int]:
    found: set[int] = set()
    for some in _batched(sorted(written)):
        found |= {one for one in current.execute(asked(some)).scalars() if one is not None}
    return found


def _forget(current: Session) -> None:
    current.info.pop(_MARKS, None)


def _refuse_bulk(asked: ORMExecuteState) -> None:
    table = getattr(asked.statement, "table", None)
    if asked.is_select or table is None:
        return
    if any(source.model.__tablename__ == table.name for kind in _known.kinds for source in kind.sources):
        raise RuntimeError(f"A bulk statement on {table.name} would leave the search index behind: change the records themselves")


sa.event.listen(Session, "after_flush", _note)
sa.event.listen(Session, "before_commit", _renew_noted)
sa.event.listen(Session, "after_rollback", _forget)
sa.event.listen(Session, "do_orm_execute", _refuse_bulk)
