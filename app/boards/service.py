"""Board sheets."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.boards.models import Board, BoardPosition
from app.boards.rules import why_not_fate
from app.boards.spec import BoardFacts, PositionFacts
from app.db import session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kernel.spec import columns, journal_facts
from app.orders import chassis, names
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


def record_board(order: RepairOrder, facts: BoardFacts, *, by: Actor, now: datetime) -> Board:
    """Begin the sheet of a board."""
    must_be_open(order)
    name = _named(order, facts.name, None)
    board = Board(order_id=order.id, at=now, by_name=by.name, **{**columns(facts), "name": name})
    session().add(board)
    chassis.opened(board.order_id, "a board was looked at", by=by, now=now)
    record(Event.BOARD_RECORDED, board, by=by, now=now, after=journal_facts(board, BoardFacts))
    names.renew(order, by=by, now=now)
    return board


def change_board(board: Board, order: RepairOrder, facts: BoardFacts, *, by: Actor, now: datetime) -> None:
    """Say the board better; another meter judges every reading anew."""
    must_be_open(order)
    name, before = _named(order, facts.name, board.id), journal_facts(board, BoardFacts)
    for field, value in {**columns(facts), "name": name}.items():
        setattr(board, field, value)
    _journal(Event.BOARD_CHANGED, board, before, journal_facts(board, BoardFacts), by, now)
    names.renew(order, by=by, now=now)


def record_position(board: Board, order: RepairOrder, facts: PositionFacts, *, by: Actor, now: datetime) -> BoardPosition:
    """A new position, or what is said about one anew."""
    must_be_open(order)
    _check(facts)
    reference = _free(board, facts.reference, None)
    position = BoardPosition(board=board, board_id=board.id, order_id=board.order_id, at=now, by_name=by.name,
                             **_columns(facts, reference))
    session().add(position)
    chassis.opened(position.order_id, "a part on a board was looked at", by=by, now=now)
    record(Event.BOARD_POSITION_RECORDED, position, by=by, now=now,
           after={"board": board.name, **journal_facts(position, PositionFacts)})
    names.renew(order, by=by, now=now)
    return position


def change_position(position: BoardPosition, order: RepairOrder, facts: PositionFacts, *, by: Actor,
                    now: datetime) -> None:
    """Measured, decided, corrected: the journal keeps what stood before."""
    must_be_open(order)
    _check(facts)
    reference, before = _free(position.board, facts.reference, position.id), journal_facts(position, PositionFacts)
    for field, value in _columns(facts, reference).items():
        setattr(position, field, value)
    _journal(Event.BOARD_POSITION_CHANGED, position, before, journal_facts(position, PositionFacts), by, now)
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


def _columns(facts: PositionFacts, reference: str) -> dict[str, object]:
    return {**columns(facts), "reference": reference, "reason": facts.reason if facts.fate else None}


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
    if after != before:
        chassis.opened(record_.order_id, "a board was looked at", by=by, now=now)
    record_change(event, record_, before, after, by=by, now=now)
