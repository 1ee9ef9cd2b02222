"""What the page of the way back shows beside the next step: groups of steps, balances, proposals for found objects."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.orders.models import RepairOrder
from app.reassembly import planner
from app.reassembly.queries.way import Way
from app.teardown.removals import queries as removals
from app.teardown.removals.models import FoundObject


@dataclass(frozen=True)
class Group:
    """Steps that follow one another and do the same thing to several: 'P1, P2, P3: nut finger tight'."""

    steps: tuple[planner.Step, ...]
    words: str
    where: str


def groups(way: Way, steps: Sequence[planner.Step]) -> list[Group]:
    """Put alike neighbours of a sequence together."""
    runs: list[list[planner.Step]] = []
    for step in steps:
        if runs and _alike(way, runs[-1][-1], step):
            runs[-1].append(step)
        else:
            runs.append([step])
    return [Group(tuple(run), _said(way, run), " · ".join(filter(None, (run[0].side, run[0].place)))) for run in runs]


def _alike(way: Way, one: planner.Step, other: planner.Step) -> bool:
    what, owner = way.origins[one.id]
    return (what == way.origins[other.id][0] and owner in way.removals and (one.side, one.place) == (other.side, other.place)
            and way.kind(one.id) == "done" and _tail(one) == _tail(other) and ":" in one.label)


def _tail(step: planner.Step) -> str:
    return step.label.partition(": ")[2]


def _said(way: Way, run: list[planner.Step]) -> str:
    if len(run) == 1:
        return run[0].label or run[0].id
    return f"{', '.join(way.origins[step.id][1] for step in run)}: {_tail(run[0])}"


@dataclass(frozen=True)
class Row:
    """One class of piece in a balance."""

    piece: str
    columns: dict[str, int]
    open: int


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


def balance_of(order: RepairOrder, unit: str | None = None) -> Balanced:
    """Weigh the ledger of the order, or of one sub-assembly ("" is what belongs to none)."""
    rows = removals.ledger(order, unit)
    weighed = planner.balance(planner.Ledger(rows))
    name = "whole job" if unit is None else unit or "no sub-assembly"
    return Balanced(name, tuple(Row(piece, rows[piece], count) for piece, count in weighed.open.items()), weighed.closed,
                    weighed.reasons)


def balances(order: RepairOrder) -> list[Balanced]:
    """The whole job first, then each sub-assembly where there is more than one."""
    units = removals.units(order)
    return [balance_of(order), *(balance_of(order, unit) for unit in units if len(units) > 1)]


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
        if count := {name.lower(): number for name, number in line.removal.lacked.items()}.get(thing.piece):
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
