"""Asking the index. SQLite: full text with an index of three signs; PostgreSQL: pg_trgm; where neither is there: reading it all.

The newest of a kind come first, after what is exactly what was typed. On SQLite the full-text index gives its answers newest
first and stops when there are enough. PostgreSQL cannot, and no estimate of its planner is to be trusted for parts of words;
so the newest entries are read first, and only if they hold too few is the whole index asked, which then has little to give.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from app.db import session
from app.search.index import FULL_TEXT
from app.search.models import ROOM_OF_A_KIND, Kind, SearchEntry
from app.search.rules import Needles, Search, trigrams

NEWEST_FIRST = 400  # entries of a kind that PostgreSQL reads before it asks its index
FEW = 200  # entries of all kinds that SQLite looks for at once, before it asks kind by kind
DIGITS_OF_A_NUMBER = 8
EXACT = (Kind.AMP, Kind.LISTED)  # where a whole serial or part number comes before newer ones that only hold it
_ENTRY = SearchEntry.__table__
_LOOK_FOR_FULL_TEXT = sa.text(f"SELECT 1 FROM sqlite_master WHERE name = '{FULL_TEXT}'")  # noqa: S608 - the name is ours


@dataclass(frozen=True, slots=True)
class Found:
    """One entry as it is shown."""

    record_id: int
    order_id: int | None
    title: str
    facts: list[list[str]]


def find(kind: Kind, search: Search, limit: int) -> list[int]:
    """Ids of the records of this kind that hold all that was typed: exact ones first, then the newest."""
    return find_all([kind], search, limit)[kind]


def find_all(kinds: Sequence[Kind], search: Search, limit: int) -> dict[Kind, list[int]]:
    """The same for several kinds, with as few questions as for one."""
    found: dict[Kind, dict[int, None]] = {kind: {} for kind in kinds}
    if search.is_empty:
        return {kind: [] for kind in kinds}
    if Kind.ORDER in found and search.number is not None:
        found[Kind.ORDER] |= dict.fromkeys(by_number(search.number, limit))
    for alternatives, those in ((search.whole, EXACT), (search.anywhere, kinds)):
        wanted = [kind for kind in kinds if kind in those and len(found[kind]) < limit]
        if alternatives and wanted:
            for entry_id in _ids(session(), wanted, alternatives, limit):
                kind = Kind.of_entry(entry_id)
                found[kind][entry_id - kind.first_id] = None
    return {kind: list(ids)[:limit] for kind, ids in found.items()}


def by_number(number: int, limit: int) -> Sequence[int]:
    """Orders of this number, then those whose number begins with it, newest first."""
    ranges = [(number * 10**more, (number + 1) * 10**more - 1) for more in range(DIGITS_OF_A_NUMBER - 1, 0, -1)
              if number and (number + 1) * 10**more <= 10**DIGITS_OF_A_NUMBER]
    one, many = "SELECT id FROM repair_order WHERE number", f"ORDER BY number DESC LIMIT {limit}"
    asked = [f"{one} = {number}", *(f"{one} BETWEEN {low} AND {high} {many}" for low, high in ranges)]  # noqa: S608 - whole numbers
    return _all_of(session(), asked, {})


def entries(found: Mapping[Kind, Iterable[int]]) -> dict[Kind, list[Found]]:
    """The entries of these records, in the order in which they are named."""
    keys = {kind: [kind.entry_id(one) for one in ids] for kind, ids in found.items()}
    every = [key for some in keys.values() for key in some]
    shown = (_ENTRY.c.id, _ENTRY.c.record_id, _ENTRY.c.order_id, _ENTRY.c.title, _ENTRY.c.facts)
    asked = sa.select(*shown).where(_ENTRY.c.id.in_(every))
    by_key = {row[0]: Found(*row[1:]) for row in session().execute(asked)} if every else {}
    return {kind: [by_key[key] for key in some if key in by_key] for kind, some in keys.items()}


def _ids(current: Session, kinds: Sequence[Kind], alternatives: Sequence[Needles], limit: int) -> list[int]:
    if current.get_bind().dialect.name == "postgresql":
        return _newest_then_all(current, kinds, alternatives, limit)
    return (_full_text if _has_full_text(current) else _plain)(current, kinds, alternatives, limit)


def _has_full_text(current: Session) -> bool:
    return current.execute(_LOOK_FOR_FULL_TEXT).first() is not None


def _full_text(current: Session, kinds: Sequence[Kind], alternatives: Sequence[Needles], limit: int) -> list[int]:
    """The index knows which entries hold the groups of three, `instr` whether they stand beside each other.

    What few entries hold is walked through once for all kinds; what many hold is found fast in each.
    """
    match = " OR ".join(f"({_together(needles)})" for needles in alternatives)
    holds, values = _holds("e.words", alternatives, "instr({column}, :{name}) > 0", "{needle}")
    values["match"] = match
    few = max(FEW, limit * len(kinds))
    found = list(current.scalars(sa.text(
        f"SELECT f.rowid FROM {FULL_TEXT} f CROSS JOIN search_entry e ON e.id = f.rowid "  # noqa: S608 - names are ours
        f"WHERE {FULL_TEXT} MATCH :match AND ({holds}) ORDER BY f.rowid DESC LIMIT {few}"), values))
    if len(found) < few:
        return _firsts(found, kinds, limit)
    asked = [f"SELECT f.rowid FROM {FULL_TEXT} f CROSS JOIN search_entry e ON e.id = f.rowid "  # noqa: S608 - names are ours
             f"WHERE {FULL_TEXT} MATCH :match AND {_within('f.rowid', kind)} AND ({holds}) ORDER BY f.rowid DESC LIMIT {limit}"
             for kind in kinds]
    return _all_of(current, asked, values)


def _newest_then_all(current: Session, kinds: Sequence[Kind], alternatives: Sequence[Needles], limit: int) -> list[int]:
    holds, values = _holds("words", alternatives, "{column} LIKE :{name}", "%{needle}%")
    newest = [f"SELECT id FROM (SELECT id, words FROM search_entry WHERE {_within('id', kind)} ORDER BY id DESC "  # noqa: S608
              f"LIMIT {NEWEST_FIRST}) AS newest WHERE {holds} ORDER BY id DESC LIMIT {limit}" for kind in kinds]
    found = _all_of(current, newest, values)
    enough = Counter(map(Kind.of_entry, found))
    unfilled = [kind for kind in kinds if enough[kind] < limit]
    if not unfilled:
        return found
    everything = [f"WITH hit AS MATERIALIZED (SELECT id FROM search_entry WHERE kind = '{kind.value}' AND ({holds})) "  # noqa: S608
                  f"SELECT id FROM hit ORDER BY id DESC LIMIT {limit}" for kind in unfilled]
    return [*(one for one in found if Kind.of_entry(one) not in unfilled), *_all_of(current, everything, values)]


def _plain(current: Session, kinds: Sequence[Kind], alternatives: Sequence[Needles], limit: int) -> list[int]:
    holds, values = _holds("words", alternatives, "instr({column}, :{name}) > 0", "{needle}")
    return _all_of(current, [f"SELECT id FROM search_entry WHERE {_within('id', kind)} AND ({holds}) "  # noqa: S608
                             f"ORDER BY id DESC LIMIT {limit}" for kind in kinds], values)


def _firsts(found: Sequence[int], kinds: Sequence[Kind], limit: int) -> list[int]:
    """Of these entries, newest first, as many of each kind as are asked for."""
    taken: Counter[Kind] = Counter()
    firsts = []
    for entry_id in found:
        kind = Kind.of_entry(entry_id)
        taken[kind] += 1
        if kind in kinds and taken[kind] <= limit:
            firsts.append(entry_id)
    return firsts


def _all_of(current: Session, asked: Sequence[str], values: dict[str, str]) -> list[int]:
    """What each statement answers, one after the other, asked at once."""
    together = " UNION ALL ".join(f"SELECT * FROM ({one}) AS k{at}" for at, one in enumerate(asked))  # noqa: S608
    return list(current.scalars(sa.text(together), values))


def _within(column: str, kind: Kind) -> str:
    return f"{column} BETWEEN {kind.first_id} AND {kind.first_id + ROOM_OF_A_KIND - 1}"


def _together(needles: Needles) -> str:
    """All groups of three of these needles, as FTS5 asks for them."""
    return " AND ".join(f'"{one}"' for needle in needles for one in trigrams(needle))


def _holds(column: str, alternatives: Sequence[Needles], test: str, shape: str) -> tuple[str, dict[str, str]]:
    """The condition that any of the alternatives holds, and its values. Needles are letters, digits and blanks only."""
    values: dict[str, str] = {}

    def one(needle: str) -> str:
        name = f"n{len(values)}"
        values[name] = shape.format(needle=needle)
        return test.format(column=column, name=name)

    return " OR ".join(f"({' AND '.join(map(one, needles))})" for needles in alternatives), values
