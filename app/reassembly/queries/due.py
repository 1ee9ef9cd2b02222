"""What a count must give a figure for: every class in the tray, the closing thing's own pieces by bag, wire ends as joined."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from app.orders.models import RepairOrder
from app.reassembly.queries.way import ReassemblyState
from app.reassembly.queries.work import balance_at, scope_of, yet_to_come
from app.reassembly.rules import ENDS, JOINED, before, own_steps
from app.removals import queries as removals
from app.removals.models import Removal
from app.removals.rules import WireEnd


@dataclass(frozen=True)
class Due:
    """One figure: pieces of a class in the bag of what closes after the count, or left over in tray and bags ("")."""

    bag: str
    piece: str
    expected: int
    of: str = ""  # what the bag belongs to

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Due) and (self.key, self.expected) == (other.key, other.expected)

    def __hash__(self) -> int:
        return hash(self.key)

    def agrees(self, counted: int) -> bool:
        """Whether this figure is as it must be to close; of what is left over that is none at all."""
        return counted == self.expected and (bool(self.bag) or not counted)

    @property
    def key(self) -> tuple[str, str]:
        return self.bag, self.piece


def due_at(order: RepairOrder, way: ReassemblyState, step: str) -> tuple[Due, ...]:
    """Every figure that a count asks for, bags first. A class that lies in a bag still is counted in the tray, too."""
    weighed = balance_at(order, way, step)
    bags = [Due(one.bag or f"with {one.mark}", piece, count, one.title)
            for one in closing(way, step) for piece, count in removals.line_of(one, order).open.items() if count > 0]
    bags = [_together(key, bags) for key in dict.fromkeys(due.key for due in bags)]
    classes = dict.fromkeys((*weighed.open, *(due.piece for due in bags)))
    return (*bags, *(Due("", piece, max(weighed.open.get(piece, 0), 0)) for piece in classes))


def _together(key: tuple[str, str], bags: list[Due]) -> Due:
    """Two things in one bag are counted in one figure."""
    same = [due for due in bags if due.key == key]
    return Due(*key, sum(due.expected for due in same), ", ".join(due.of for due in same))


def closing(way: ReassemblyState, step: str) -> list[Removal]:
    """What closes right after a count, and what holds it: of what waits for the count, that which waits for nothing between."""
    later = yet_to_come(way, step)
    first = {way.origins[name][1] for name, one in way.steps.items() if step in one.after} & later
    held = {mark for mark in later if any(on.mark in first for on in way.removals[mark].holders)}
    through = {mark for mark in later for other in first if mark in way.removals[other].under}
    return [one for mark, one in way.removals.items() if mark in first | held | through and one.ended_at is None]


def ends_due(way: ReassemblyState, step: str) -> int:
    """Wire ends that a count must find joined: of a base or a hidden side its own, else those that no such look has counted."""
    what, owner = way.origins[step]
    if what in ENDS:
        return sum(_is_at(way, one, end.host, owner) and (what != "LOOK" or end.hidden) for one in _back(way)
                   for end in one.wire_ends)
    scope, first = scope_of(way, step), before(step, way.steps)
    looked = [mark for kind, mark in way.origins.values() if kind in ENDS]
    return sum(not any(_is_at(way, one, end.host, mark) for mark in looked) for one in _back(way)
               if scope.holds(one.unit, one.cavity) for end in one.wire_ends if _joined(way, one, end, first))


def _joined(way: ReassemblyState, one: Removal, end: WireEnd, first: Collection[str]) -> bool:
    """Whether an end is in when the count has its turn: what it waits for is done by then, and what else is done is seen, too."""
    own = own_steps(way.origins, one.mark)
    placed = [name for name in own if (what := way.origins[name][0]).startswith(JOINED) and what.endswith(f":{end.pin}")
              and (not end.host or _is_at(way, one, end.host, what.removeprefix(JOINED).rpartition(":")[0]))]
    return one.ended_at is not None or all(name in way.records or name in first for name in placed or own)


def _back(way: ReassemblyState) -> list[Removal]:
    return [one for one in way.removals.values() if one.fate.goes_back]


def _is_at(way: ReassemblyState, one: Removal, host: str, mark: str) -> bool:
    """Whether an end of a removal, at `host` or at what the removal is fixed to, is joined at the thing with this mark."""
    names = {mark.lower(), way.removals[mark].name.lower()} if mark in way.removals else {mark.lower()}
    if host or not one.holders:
        return (host or one.fixed_to).lower() in names
    return any(on.mark == mark for on in one.holders)
