"""Reading the removal ledger."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.hardware.queries import label_of
from app.hardware.rules import read_class
from app.orders import names
from app.orders.models import RepairOrder
from app.removals.models import FoundObject, LostPiece, PieceEntry, Removal
from app.removals.rules import CAPTIVE, FIXINGS, METAL, WIRE_END, Fate, Kind, Went, why_not_tagged
from app.removals.spaces import CAVITIES, CLOSES_NOTHING, WHOLE, Scope, implied_cavity
from app.removals.stacks import Stack, loose_pieces, read_bodies, unambiguous_names
from app.request_cache import cached_until_write

LATELY = 200  # records of other amps that are looked through for what a kind usually is


@dataclass(frozen=True)
class Line:
    """One removal with its loose pieces by class and, by class, those not accounted for yet."""

    removal: Removal
    pieces: dict[str, int]
    open: dict[str, int]

    @property
    def loose(self) -> int:
        return sum(self.pieces.values())

    @property
    def untagged(self) -> str:
        """What its tag lacks; empty if nothing."""
        if self.removal.fate is Fate.NEW:
            return ""  # it never came off: nothing of it lies anywhere
        return why_not_tagged(bag=self.removal.bag, stays_on_loom=self.removal.stays_on_loom, loose=self.loose)


def find(removal_id: int) -> Removal | None:
    """The removal with this id, struck or not."""
    return session().get(Removal, removal_id)


@cached_until_write
def of_order(order: RepairOrder, *, struck: bool = False) -> Sequence[Removal]:
    """What came off, in that order; `struck` asks for what was recorded in error instead."""
    wanted = sa.select(Removal).where(Removal.order_id == order.id,
                                      Removal.struck_at.is_not(None) if struck else Removal.struck_at.is_(None))
    return session().scalars(wanted.order_by(Removal.number)).all()


def last_of_each_kind(order: RepairOrder) -> dict[Kind, Removal]:
    """The newest of each kind that says something: of this order, else one with loose pieces of those that came off lately."""
    found = {removal.kind: removal for removal in of_order(order) if removal.stack or removal.fasteners or removal.fixed_to}
    lately = sa.select(Removal).where(Removal.order_id != order.id, Removal.struck_at.is_(None)).order_by(Removal.id.desc())
    for one in session().scalars(lately.limit(LATELY)):
        if one.stack or one.fasteners:
            found.setdefault(one.kind, one)
    return found


def by_mark(order: RepairOrder, mark: str) -> Removal | None:
    """The standing removal whose tag says so."""
    return next((removal for removal in of_order(order) if removal.mark.lower() == mark.lower()), None)


@names.finds("removal")
def named(order: RepairOrder) -> list[names.Named]:
    """What came off, by tag, by title, and by name where that means one thing."""
    off = of_order(order)
    one_of = unambiguous_names((removal.name, removal.mark) for removal in off)

    def called(one: Removal) -> frozenset[str]:
        own = {one.name.lower()} if one_of.get(one.name.lower()) == one.mark else set()
        return frozenset({one.mark.lower(), one.title.lower(), *own})

    return [names.Named("removal", removal.id, called(removal), removal.title, removal.place.lower()) for removal in off]


def others_called(order: RepairOrder, mark: str) -> set[str]:
    """Tags and names, in small letters, of what else came off."""
    return {name for one in named(order) for name in one.names if mark.lower() not in one.names}


def holder_called(text: str, removal: Removal, called: Iterable[names.Named]) -> int | None:
    """Id of what it is fixed to by these words; None where they name what stays, or nothing, or several things."""
    if not text or text.lower() in METAL:
        return None
    found = [one.id for one in names.among(called, text) if one.id != removal.id]
    return found[0] if len(found) == 1 else None


def holders_called(removal: Removal, kind: Kind, text: str, called: Iterable[names.Named]) -> list[int]:
    """Ids of what it is fixed to by these words: one, or of a fixing all that it holds ("T1, BR1")."""
    called = list(called)
    whole = holder_called(text, removal, called)
    if whole is not None or kind not in FIXINGS:
        return [] if whole is None else [whole]
    found = [holder_called(part, removal, called) for part in read_bodies(text)]
    return list(dict.fromkeys(one for one in found if one is not None))


def cavities(order: RepairOrder) -> list[str]:
    """Every cavity that this order's records name, then what boards and boxes that are off close, then the usual ones."""
    off = of_order(order)
    named_so = [name for one in off for name in (one.cavity, one.closes) if name and name != CLOSES_NOTHING]
    implied = [name for one in off if (name := implied_cavity(one.kind, one.mark))]
    found: dict[str, str] = {}
    for name in (*named_so, *implied, *CAVITIES):
        found.setdefault(name.casefold(), name)
    return list(found.values())


def is_sized(piece: str) -> bool:
    """Whether a line of a stack names a class by more than its kind."""
    return not piece.endswith(CAPTIVE) and bool(read_class(piece).size)


def stack_piece(piece: str) -> str:
    """A line of a stack with its class as it is counted, where it says a size."""
    return label_of(piece) if is_sized(piece) else piece


@cached_until_write
def entries(order: RepairOrder) -> Sequence[PieceEntry]:
    """Every entry about where pieces went, struck ones too, newest last."""
    return session().scalars(sa.select(PieceEntry).where(PieceEntry.order_id == order.id).order_by(PieceEntry.id)).all()


def weighs(entry: PieceEntry) -> bool:
    """Whether an entry counts in the ledger: it stands, and is no wire end, which is no piece of hardware."""
    return entry.struck_at is None and entry.piece != WIRE_END


def find_entry(entry_id: int) -> PieceEntry | None:
    """The entry with this id."""
    return session().get(PieceEntry, entry_id)


def pieces_of(removal: Removal, among: Iterable[Removal]) -> dict[str, int]:
    """Loose pieces by class; a stack piece that has a record of its own among the removals is none."""
    listed = list(among)
    names = unambiguous_names((one.name, one.mark) for one in listed)
    others = {one.mark for one in listed if one.id != removal.id} | {name for name, mark in names.items() if mark != removal.mark}
    return loose_pieces(removal.stacks, removal.fasteners, others, label_of)


def stacks_in_words(removal: Removal, order: RepairOrder) -> list[Stack]:
    """Its stacks with what has a record of its own called by name, not by tag."""
    names = {one.mark.lower(): one.name for one in of_order(order) if one.id != removal.id}
    return [Stack(stack.times, tuple(names.get(piece.lower(), piece) for piece in stack.pieces)) for stack in removal.stacks]


@cached_until_write
def lines(order: RepairOrder) -> list[Line]:
    """Every standing removal with its pieces and what of them is open."""
    removals = of_order(order)
    gone: dict[int | None, Counter[str]] = defaultdict(Counter)
    for entry in entries(order):
        if weighs(entry):
            gone[entry.removal_id][entry.piece] += -entry.count if entry.went is Went.ISSUED else entry.count
    told = []
    for one in removals:
        pieces = pieces_of(one, removals)
        still = Counter(pieces)
        still.subtract(gone[one.id])
        told.append(Line(one, pieces, {name: count for name, count in still.items() if count}))
    return told


def line_of(removal: Removal, order: RepairOrder) -> Line:
    """The same of one standing removal."""
    return next(line for line in lines(order) if line.removal.id == removal.id)


def ledger(order: RepairOrder, scope: Scope = WHOLE, *, excluding: Collection[str] = ()) -> dict[str, dict[str, int]]:
    """Class → column → pieces, of what is counted together. The pieces of a new part are issued with it.

    `excluding`: marks of removals that are left out, because they go on after what is being counted.
    """
    rows: dict[str, Counter[str]] = defaultdict(Counter)
    # What is entered for no place counts with what has no sub-assembly.
    counted: set[int | None] = {None} if not (scope.unit or scope.cavity) else set()
    for line in lines(order):
        if line.removal.mark not in excluding and scope.holds(line.removal.unit, line.removal.cavity):
            counted.add(line.removal.id)
            for name, count in line.pieces.items():
                rows[name]["issued" if line.removal.fate is Fate.NEW else "removed"] += count
    for entry in entries(order):
        if weighs(entry) and entry.removal_id in counted:
            rows[entry.piece][entry.went.value] += entry.count
    return {name: dict(row) for name, row in rows.items()}


def units(order: RepairOrder) -> list[str]:
    """Sub-assemblies in the order they came off; "" for what belongs to none."""
    return list(dict.fromkeys(removal.unit for removal in of_order(order)))


@cached_until_write
def found_objects(order: RepairOrder) -> Sequence[FoundObject]:
    """Everything that turned up loose."""
    return session().scalars(sa.select(FoundObject).where(FoundObject.order_id == order.id).order_by(FoundObject.id)).all()


def find_object(object_id: int) -> FoundObject | None:
    """The found object with this id."""
    return session().get(FoundObject, object_id)


@cached_until_write
def lost_pieces(order: RepairOrder) -> Sequence[LostPiece]:
    """Everything that got lost, found again or not."""
    return session().scalars(sa.select(LostPiece).where(LostPiece.order_id == order.id).order_by(LostPiece.id)).all()


def find_lost(lost_id: int) -> LostPiece | None:
    """The lost piece with this id."""
    return session().get(LostPiece, lost_id)


def open_losses(order: RepairOrder) -> list[LostPiece]:
    """Lost pieces that still keep everything open."""
    return [one for one in lost_pieces(order) if one.is_open]


def came_out_for_good(order: RepairOrder) -> list[Removal]:
    """What came out and does not go back as it is: replaced, scrapped, into stock or to the customer."""
    return [removal for removal in of_order(order) if removal.fate not in (Fate.REFIT, Fate.HOLD, Fate.NEW)]


def to_give_back(order: RepairOrder) -> list[Removal]:
    """Old parts that go back to the customer with the amp."""
    return [removal for removal in of_order(order)
            if removal.fate is Fate.TO_CUSTOMER or (removal.old_part and removal.old_part.value == "customer")]
