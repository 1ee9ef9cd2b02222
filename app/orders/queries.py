"""Reading repair orders."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import selectinload

from app.db import session
from app.orders.models import Move, RepairOrder


def find(order_id: int) -> RepairOrder | None:
    """The order with this id."""
    return session().get(RepairOrder, order_id)


def open_orders() -> Sequence[RepairOrder]:
    """Every order that has not ended, oldest promise first, then oldest."""
    return session().scalars(
        sa.select(RepairOrder).where(RepairOrder.ended_as.is_(None))
        .options(selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor), selectinload(RepairOrder.moves))
        .order_by(RepairOrder.promised_on.is_(None), RepairOrder.promised_on, RepairOrder.number)).all()


def ended_orders(limit: int = 50) -> Sequence[RepairOrder]:
    """Those that ended last."""
    return session().scalars(
        sa.select(RepairOrder).where(RepairOrder.ended_as.is_not(None))
        .options(selectinload(RepairOrder.amp), selectinload(RepairOrder.depositor))
        .order_by(RepairOrder.ended_at.desc()).limit(limit)).all()


def moves(order_id: int) -> Sequence[Move]:
    """The journey of an order, first move first."""
    return session().scalars(sa.select(Move).where(Move.order_id == order_id).order_by(Move.id)).all()
