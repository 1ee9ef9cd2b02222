"""What the page of the way back shows beside the next step: groups of steps, balances, proposals for found objects."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from app.orders.models import RepairOrder
from app.reassembly import planner
from app.reassembly.queries.way import BLANK, ReassemblyState
from app.reassembly.rules import CAVITY, before, behind, counts_whole, is_own
from app.removals import queries as removals
from app.removals.models import FoundObject
from app.removals.rules import Went
from app.removals.spaces import WHOLE, Scope
from app.request_cache import cached_until_write


@dataclass(frozen=True)
class Group:
    """Steps that follow one another and do the same thing to several: 'P1, P2, P3: nut finger tight'."""

    steps: tuple[planner.Step, ...]
    words: str
    where: str


def groups(way: ReassemblyState, steps: Sequence[planner.Step]) -> list[Group]:
    """Put alike neighbours of a sequence together."""
    runs: list[list[planner.Step]] = []
    for step in steps:
        if runs and _alike(way, runs[-1][-1], step):
            runs[-1].append(step)
        else:
            runs.append([step])
    return [Group(tuple(run), _said(way, run), " · ".join(filter(None, (run[0].side, run[0].place)))) for run in runs]


def _alike(way: ReassemblyState, one: planner.Step, other: planner.Step) -> bool:
    return (way.kind(one.id) == "done" and way.removal_of(one.id) is not None and not way.why_unagreed(other.id)
            and (one.side, one.place) == (other.side, other.place) and way.pattern(one.id) == way.pattern(other.id))


def _said(way: ReassemblyState, run: list[planner.Step]) -> str:
    if len(run) == 1:
        return way.label(run[0].id)
    return way.pattern(run[0].id).replace(BLANK, ", ".join(way.origins[step.id][1] for step in run))


COLUMNS = ("removed", *(went.value for went in Went))


@dataclass(frozen=True)
class Row:
    """One class of piece in a balance: every column of the ledger, and what is open."""

    piece: str
    columns: dict[str, int]
    open: int
    off: int  # of the open ones, those whose removal is still off the amp: they are where they should be

    @property
    def unexplained(self) -> int:
        """Open pieces that no removal accounts for: short above nought, too many below."""
        return self.open - self.off


@dataclass(frozen=True)
class Balanced:
    """The ledger of the whole job or of one sub-assembly, weighed."""

    name: str
    rows: tuple[Row, ...]
    closed: bool
    reasons: tuple[str, ...]

    @property
    def open(self) -> dict[str, int]:
        return {row.piece: row.open for row in self.rows}

    @property
    def off(self) -> int:
        """Pieces that are still off, all classes together."""
        return sum(row.off for row in self.rows)

    @property
    def unexplained(self) -> tuple[Row, ...]:
        """Classes that something is wrong with, not merely unfinished."""
        return tuple(row for row in self.rows if row.unexplained)


@cached_until_write
def balance_of(order: RepairOrder, scope: Scope = WHOLE, *, excluding: frozenset[str] = frozenset()) -> Balanced:
    """Weigh the ledger of the order, or of what is counted together, without the marks in `excluding`."""
    rows = removals.ledger(order, scope, excluding=excluding)
    weighed = planner.balance(planner.Ledger(rows))
    off = _still_off(order, scope, excluding)
    filled = {piece: {column: row.get(column, 0) for column in COLUMNS} for piece, row in rows.items()}
    told = tuple(Row(piece, filled[piece], count, off.get(piece, 0)) for piece, count in weighed.open.items())
    return Balanced(scope.words, told, weighed.closed, weighed.reasons)


def _still_off(order: RepairOrder, scope: Scope, excluding: Collection[str]) -> Counter[str]:
    """Pieces of removals that have not ended: no more of a class than came off with each."""
    found: Counter[str] = Counter()
    for line in removals.lines(order):
        one = line.removal
        if one.ended_at is None and one.mark not in excluding and scope.holds(one.unit, one.cavity):
            found.update({name: min(max(line.open.get(name, 0), 0), count) for name, count in line.pieces.items()})
    return found


def balance_at(order: RepairOrder, way: ReassemblyState, step: str) -> Balanced:
    """What a count weighs: its cavity or sub-assembly, or the whole job at the last count and where there is but one.

    What need not be back yet, such as the cover that closes the cavity, or a coil whose lead is joined later, may still be off
    and is not weighed here: a later count does that.
    """
    return balance_of(order, scope_of(way, step), excluding=need_not_be_back(way, step))


def need_not_be_back(way: ReassemblyState, step: str) -> frozenset[str]:
    """Marks of removals of which some step of their own is not among those that this one waits for."""
    first = before(step, way.steps)
    return frozenset(mark for name, (what, mark) in way.origins.items()
                     if mark in way.removals and is_own(what) and name not in first)


def scope_of(way: ReassemblyState, step: str) -> Scope:
    """What a count is of."""
    what, owner = way.origins[step]
    if what == CAVITY:
        return Scope(cavity=owner)
    if counts_whole(what, len(removals.units(way.order))):
        return WHOLE
    return Scope(owner if what == "CT" else way.removals[owner].unit if owner in way.removals else "")


def yet_to_come(way: ReassemblyState, step: str) -> frozenset[str]:
    """Marks of removals of which every step waits for this one."""
    later = behind(step, way.steps.values())
    marks = {mark for name, (_, mark) in way.origins.items() if name in later and mark in way.removals}
    own = {mark: [name for name, (_, owner) in way.origins.items() if owner == mark and name != step] for mark in marks}
    return frozenset(mark for mark, names in own.items() if later.issuperset(names))


def balances(order: RepairOrder) -> list[Balanced]:
    """The whole job first, then each sub-assembly where there is more than one, then each cavity that the records name."""
    units, spaces = removals.units(order), dict.fromkeys(one.cavity for one in removals.of_order(order) if one.cavity)
    return [balance_of(order), *(balance_of(order, Scope(unit)) for unit in units if len(units) > 1),
            *(balance_of(order, Scope(cavity=name)) for name in spaces)]


@dataclass(frozen=True)
class Proposal:
    """A place that a found object may have come from, and why."""

    removal_id: int
    words: str
    best: bool


def proposals(order: RepairOrder, thing: FoundObject) -> list[Proposal]:
    """Places that miss one of its class: lacking when they came off, ended short, or lost there. The likeliest first."""
    why: dict[str, str] = {}
    misses: list[planner.Miss] = []

    def miss(mark: str, count: int, words: str) -> None:
        why.setdefault(mark, words)
        misses.append(planner.Miss(mark, thing.piece, count))

    lines = removals.lines(order)
    ids = {line.removal.mark: line.removal.id for line in lines}
    for line in lines:
        mark = line.removal.mark
        if count := line.removal.lacked.get(thing.piece):
            miss(mark, count, f"{mark} lacked {count} when it came off")
        if line.removal.ended_at is not None and (short := line.open.get(thing.piece, 0)) > 0:
            miss(mark, short, f"{mark} went back {short} short")
    for gone in removals.open_losses(order):
        if gone.piece == thing.piece and gone.removal is not None:
            miss(gone.removal.mark, 1, f"one was lost from {gone.removal.mark}")
    here = {line.removal.place.lower(): line.removal.mark for line in lines if line.removal.place and line.removal.mark in why}
    found = planner.Found(str(thing.id), thing.piece, here.get(thing.place.lower()))
    paired = planner.pair_found([found], misses)
    best = paired.pairs[0].place if paired.pairs else ""
    marks = sorted(why, key=lambda mark: mark != best)
    return [Proposal(ids[mark], why[mark], mark == best) for mark in marks]
