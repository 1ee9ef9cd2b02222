"""Reading the board sheets."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import selectinload

from app.boards.models import Board, BoardPosition
from app.boards.rules import Totals, totals
from app.db import session
from app.orders import names
from app.orders.models import RepairOrder
from app.request_cache import cached_until_write


@cached_until_write
def boards_of(order: RepairOrder) -> Sequence[Board]:
    """The board sheets of an order."""
    return session().scalars(sa.select(Board).options(selectinload(Board.positions))
                             .where(Board.order_id == order.id).order_by(Board.id)).all()


def find_board(board_id: int) -> Board | None:
    return session().get(Board, board_id)


def find_position(position_id: int) -> BoardPosition | None:
    return session().get(BoardPosition, position_id)


def totals_of(order: RepairOrder) -> Totals:
    """Over all boards: kept original, replaced, altered earlier, undecided."""
    return totals((one.fate, one.reason) for board in boards_of(order) for one in board.positions)


@names.finds("board")
def named_boards(order: RepairOrder) -> list[names.Named]:
    """The boards of an order by their names."""
    return [names.Named("board", one.id, frozenset({one.name.lower()}), one.name) for one in boards_of(order)]


@names.finds("position")
def named_positions(order: RepairOrder) -> list[names.Named]:
    """Every position by its reference, and by that of its board and itself: "main board R6"."""
    return [names.Named("position", one.id, frozenset({one.reference.lower()}), f"{board.name} {one.reference}")
            for board in boards_of(order) for one in board.positions]
