"""Board sheets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from app.boards.models import Board, BoardPosition
from app.boards.rules import BoardKind, Fate, PartKind, Reason, why_not_fate
from app.db import session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis, names
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


@dataclass(frozen=True)
class BoardFacts:
    """A board: its name, its kind, a photo of it, and the meter with its accuracy in ± per cent of reading."""

    name: str
    kind: BoardKind
    photo_id: int | None = None
    meter: str = ""
    meter_percent: float = 1.0


@dataclass(frozen=True)
class PositionFacts:
    """A position. Values in the SI unit of the part's kind, tolerance a fraction."""

    reference: str
    kind: PartKind
    nominal: float | None = None
    tolerance: float | None = None
    measured_out: float | None = None
    measured_in: float | None = None
    fate: Fate | None = None
    reason: Reason | None = None
    new_part: str = ""
    note: str = ""


def record_board(order: RepairOrder, facts: BoardFacts, *, by: Actor, now: datetime) -> Board:
    """Begin the sheet of a board."""
    must_be_open(order)
    name = _named(order, facts.name, None)
    board = Board(order_id=order.id, at=now, by_name=by.name, **{**vars(facts), "name": name})
    session().add(board)
    chassis.opened(board.order_id, "a board was looked at", by=by, now=now)
    record(Event.BOARD_RECORDED, board, by=by, now=now, after=_board_facts(board))
    names.renew(order, by=by, now=now)
    return board


def change_board(board: Board, order: RepairOrder, facts: BoardFacts, *, by: Actor, now: datetime) -> None:
    """Say the board better; another meter judges every reading anew."""
    must_be_open(order)
    name, before = _named(order, facts.name, board.id), _board_facts(board)
    for field, value in {**vars(facts), "name": name}.items():
        setattr(board, field, value)
    _journal(Event.BOARD_CHANGED, board, before, _board_facts(board), by, now)
    names.renew(order, by=by, now=now)


def record_position(board: Board, order: RepairOrder, facts: PositionFacts, *, by: Actor, now: datetime) -> BoardPosition:
    """A new position, or what is said about one anew."""
    must_be_open(order)
    _check(facts)
    reference = _free(board, facts.reference, None)
    position = BoardPosition(board=board, board_id=board.id, order_id=board.order_id, at=now, by_name=by.name,
                             **{**_tidy(facts), "reference": reference})
    session().add(position)
    chassis.opened(position.order_id, "a part on a board was looked at", by=by, now=now)
    record(Event.BOARD_POSITION_RECORDED, position, by=by, now=now, after={"board": board.name, **_journal_facts(position)})
    names.renew(order, by=by, now=now)
    return position


def change_position(position: BoardPosition, order: RepairOrder, facts: PositionFacts, *, by: Actor,
                    now: datetime) -> None:
    """Measured, decided, corrected: the journal keeps what stood before."""
    must_be_open(order)
    _check(facts)
    reference, before = _free(position.board, facts.reference, position.id), _journal_facts(position)
    for field, value in {**_tidy(facts), "reference": reference}.items():
        setattr(position, field, value)
    _journal(Event.BOARD_POSITION_CHANGED, position, before, _journal_facts(position), by, now)
    names.renew(order, by=by, now=now)


def _check(facts: PositionFacts) -> None:
    if wrong := why_not_fate(facts.fate, facts.reason):
        raise BadInput(wrong, "reason")
    if facts.tolerance is not None and not 0 < facts.tolerance < 1:
        raise BadInput("Enter the tolerance in per cent, 10 for instance.", "tolerance")
    for name in ("nominal", "measured_out", "measured_in"):
        value = getattr(facts, name)
        if value is not None and value < 0:
            raise BadInput("A part's value is not below zero.", name)


def _tidy(facts: PositionFacts) -> dict[str, object]:
    return {**vars(facts), "reason": facts.reason if facts.fate else None, "new_part": " ".join(facts.new_part.split()),
            "note": " ".join(facts.note.split())}


def _named(order: RepairOrder, name: str, own_id: int | None) -> str:
    plain = " ".join(name.split())
    if not plain:
        raise BadInput("Give the board a name.", "name")
    there = session().scalar(sa.select(Board.id).where(Board.order_id == order.id, Board.name == plain))
    if there not in (None, own_id):
        raise BadInput(f"There is a board called {plain} already.", "name")
    return plain


def _free(board: Board, reference: str, own_id: int | None) -> str:
    plain = " ".join(reference.split())
    if not plain:
        raise BadInput("Give the position a reference, R1 for instance.", "reference")
    there = session().scalar(sa.select(BoardPosition.id).where(BoardPosition.board_id == board.id,
                                                               BoardPosition.reference == plain))
    if there not in (None, own_id):
        raise BadInput(f"{plain} is on this sheet already.", "reference")
    return plain


def _journal(event: Event, record_: Board | BoardPosition, before: dict[str, object], after: dict[str, object], by: Actor,
             now: datetime) -> None:
    changed = [name for name in after if after[name] != before[name]]
    if changed:
        chassis.opened(record_.order_id, "a board was looked at", by=by, now=now)
        record(event, record_, by=by, now=now, before={name: before[name] for name in changed},
               after={name: after[name] for name in changed})


def _board_facts(board: Board) -> dict[str, object]:
    return {"name": board.name, "kind": board.kind.value, "photo": board.photo_id or "", "meter": board.meter,
            "meter accuracy": f"±{board.meter_percent:g} %"}


def _journal_facts(position: BoardPosition) -> dict[str, object]:
    return {"reference": position.reference, "kind": position.kind.value, "nominal": position.said(position.nominal),
            "tolerance": "" if position.tolerance is None else f"{position.tolerance:.2%}",
            "read out of circuit": position.said(position.measured_out),
            "read in circuit": position.said(position.measured_in),
            "fate": position.fate.value if position.fate else "", "reason": position.reason.value if position.reason else "",
            "new part": position.new_part, "note": position.note}
