"""What came off against what went back, class by class."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields


class LedgerError(ValueError):
    """A count that cannot be one, or a column that the ledger does not have."""


@dataclass(frozen=True)
class Row:
    """Pieces of one class: taken off, newly issued, and where each went. Whole numbers, zero or more."""

    removed: int = 0
    issued: int = 0
    refitted: int = 0
    scrapped: int = 0
    returned_to_customer: int = 0
    returned_to_stock: int = 0

    def __post_init__(self) -> None:
        for field in fields(self):
            count = getattr(self, field.name)
            if isinstance(count, bool) or not isinstance(count, int) or count < 0:
                raise LedgerError(f"{field.name} is {count!r}; it must be a whole number, zero or more.")

    @property
    def open(self) -> int:
        """Pieces not accounted for; below zero when more went back than ever came off or was issued."""
        gone = self.refitted + self.scrapped + self.returned_to_customer + self.returned_to_stock
        return self.removed + self.issued - gone


@dataclass(frozen=True)
class Ledger:
    """Rows by fastener or part class. A row may be given as a mapping of its columns."""

    rows: Mapping[str, Row]

    def __init__(self, rows: Mapping[str, Row | Mapping[str, int]]) -> None:
        if not isinstance(rows, Mapping):
            raise LedgerError(f"the ledger is {rows!r}; it must be rows by class.")
        object.__setattr__(self, "rows", {name: _row(name, row) for name, row in rows.items()})

    @property
    def pieces(self) -> int:
        """All pieces that came off."""
        return sum(row.removed for row in self.rows.values())


def _row(name: str, row: Row | Mapping[str, int]) -> Row:
    if isinstance(row, Row):
        return row
    if not isinstance(row, Mapping):
        raise LedgerError(f"{name}: the row is {row!r}; it must be columns and their counts.")
    unknown = set(row) - {field.name for field in fields(Row)}
    if unknown:
        raise LedgerError(f"{name}: the ledger has no column {', '.join(sorted(map(repr, unknown)))}.")
    return Row(**row)


@dataclass(frozen=True)
class Balance:
    """`open`: class → pieces not accounted for, of every class in the ledger; below zero are pieces too many."""

    open: Mapping[str, int]

    @property
    def closed(self) -> bool:
        """True only if every class is at zero: no class pays for another."""
        return not any(self.open.values())

    @property
    def short(self) -> Mapping[str, int]:
        """Class → pieces that are still out."""
        return {name: count for name, count in self.open.items() if count > 0}

    @property
    def surplus(self) -> Mapping[str, int]:
        """Class → pieces that went back beyond those that came off or were issued."""
        return {name: -count for name, count in self.open.items() if count < 0}

    @property
    def reasons(self) -> tuple[str, ...]:
        """One sentence for each class that blocks."""
        return tuple(
            f"{name}: {count} not accounted for." if count > 0 else f"{name}: {-count} more than came off."
            for name, count in self.open.items()
            if count
        )


def balance(ledger: Ledger | Mapping[str, Row | Mapping[str, int]]) -> Balance:
    """Weigh the ledger: open = removed + issued − refitted − scrapped − returned, class by class.

    Raises LedgerError for a negative or broken count.
    """
    book = ledger if isinstance(ledger, Ledger) else Ledger(ledger)
    return Balance({name: row.open for name, row in book.rows.items()})


@dataclass(frozen=True)
class Found:
    """A loose object that turned up: its class, and where it lay, if that says anything."""

    id: str
    kind: str
    place: str | None = None


@dataclass(frozen=True)
class Miss:
    """A place that misses `count` pieces of a class."""

    place: str
    kind: str
    count: int = 1

    def __post_init__(self) -> None:
        if isinstance(self.count, bool) or not isinstance(self.count, int) or self.count < 1:
            raise LedgerError(f"{self.place}: {self.count!r} missing; it must be a whole number above zero.")


@dataclass(frozen=True)
class Pair:
    """A found object, the place proposed for it, and every place it may have come from."""

    found: Found
    place: str
    candidates: tuple[str, ...]


@dataclass(frozen=True)
class Pairing:
    """What each found object may be; objects that nothing misses; places that still miss something."""

    pairs: tuple[Pair, ...]
    unexplained: tuple[Found, ...]
    still_missing: tuple[Miss, ...]


def pair_found(found: Iterable[Found], misses: Iterable[Miss]) -> Pairing:
    """Pair each found object with a place that misses one of its class, each missing piece once.

    An object found at a place that misses one goes there first; the rest in the order given.
    """
    objects, places = tuple(found), tuple(misses)
    left = [miss.count for miss in places]
    chosen: dict[int, int] = {}
    for at_home in (True, False):
        for index, thing in enumerate(objects):
            if index not in chosen:
                fits = (
                    slot
                    for slot, miss in enumerate(places)
                    if left[slot] and miss.kind == thing.kind and (miss.place == thing.place or not at_home)
                )
                slot = next(fits, None)
                if slot is not None:
                    chosen[index] = slot
                    left[slot] -= 1
    pairs = tuple(
        Pair(objects[index], places[slot].place, _candidates(objects[index], places))
        for index, slot in sorted(chosen.items())
    )
    unexplained = tuple(thing for index, thing in enumerate(objects) if index not in chosen)
    rest = zip(places, left, strict=True)
    still = tuple(Miss(miss.place, miss.kind, count) for miss, count in rest if count)
    return Pairing(pairs, unexplained, still)


def _candidates(thing: Found, places: tuple[Miss, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(miss.place for miss in places if miss.kind == thing.kind))
