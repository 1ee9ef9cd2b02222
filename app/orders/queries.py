"""Reading repair orders."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import sqlalchemy as sa
from sqlalchemy.orm import joinedload, selectinload

from app.db import session
from app.orders.models import Move, RepairOrder


def find(order_id: int) -> RepairOrder | None:
    """The order with this id, its amp and its people with it."""
    return session().get(RepairOrder, order_id, options=[joinedload(RepairOrder.amp), joinedload(RepairOrder.depositor),
                                                         joinedload(RepairOrder.owner), joinedload(RepairOrder.authority)])


def open_orders() -> Sequence[RepairOrder]:
    """Every order that has not ended, oldest promise first, then oldest."""
    return session().scalars(
        sa.select(RepairOrder).where(RepairOrder.ended_as.is_(None)).options(selectinload(RepairOrder.amp))
        .order_by(RepairOrder.promised_on.is_(None), RepairOrder.promised_on, RepairOrder.number)).all()


def with_ids(order_ids: Collection[int]) -> Sequence[RepairOrder]:
    """These orders, with their amps, the people of them and their moves."""
    return session().scalars(
        sa.select(RepairOrder).where(RepairOrder.id.in_(order_ids))
        .options(selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor), selectinload(RepairOrder.moves))).all()


def moves(order_id: int) -> Sequence[Move]:
    """The journey of an order, first move first."""
    return session().scalars(sa.select(Move).where(Move.order_id == order_id).order_by(Move.id)).all()
