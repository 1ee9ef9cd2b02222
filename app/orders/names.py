"""What a name typed at the bench means in an order: a removal, a position of a board, a board, a finding.

A place is typed or tapped as it always was ("R6", "board 1"); what is stored beside the words is the key of the record that
they name. Orders know no stage: a room tells here what its records are called (`finds`), and what to do with words that named
nothing when they were written once something new has a name (`renews`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from app.journal.service import Actor
from app.orders.models import RepairOrder


@dataclass(frozen=True)
class Named:
    """A record of an order, what it is called in small letters, one title that only it has, and where it sits."""

    kind: str
    id: int
    names: frozenset[str]
    title: str
    place: str = ""


Finder = Callable[[RepairOrder], Iterable[Named]]
Renewal = Callable[[RepairOrder, Actor, datetime], None]
_finders: dict[str, Finder] = {}
_renewals: list[Renewal] = []


def finds(kind: str) -> Callable[[Finder], Finder]:
    """Decorate the function that lists an order's records of one kind with their names."""
    def take(finder: Finder) -> Finder:
        _finders[kind] = finder
        return finder
    return take


def renews(renewal: Renewal) -> Renewal:
    """Decorate the function that gives a key to words which named nothing yet."""
    _renewals.append(renewal)
    return renewal


def listed(order: RepairOrder, *kinds: str) -> list[Named]:
    """All that has a name, kind by kind."""
    return [one for kind in kinds for one in _finders[kind](order)]


def meant(order: RepairOrder, text: str, *kinds: str) -> Sequence[Named]:
    """The records of the first of these kinds that has any of this name. Titles win over other names; two or more: ambiguous."""
    for kind in kinds:
        if found := among(_finders[kind](order), text):
            return found
    return ()


def among(those: Iterable[Named], text: str) -> list[Named]:
    """Those of this name; titles win over other names."""
    plain, every_one = " ".join(text.split()).lower(), list(those)
    return [one for one in every_one if one.title.lower() == plain] or [one for one in every_one if plain in one.names]


def renew(order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """Call it when a record has got a name: what was written before it and means it gets its key."""
    for renewal in _renewals:
        renewal(order, by, now)
