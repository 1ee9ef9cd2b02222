"""The amp's sheet on the order's page."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from app.circuits.models import AmpSheet, SheetBlock
from app.db import session
from app.orders.models import RepairOrder


def values(order: RepairOrder) -> dict[str, Any]:
    """How many blocks the sheet has; None without a sheet. Nothing is calculated here: the order's page must not wait."""
    found = session().execute(
        sa.select(AmpSheet.id, sa.func.count(SheetBlock.id))
        .outerjoin(SheetBlock, sa.and_(SheetBlock.sheet_id == AmpSheet.id, SheetBlock.withdrawn_at.is_(None)))
        .where(AmpSheet.order_id == order.id).group_by(AmpSheet.id)).first()
    return {"blocks": None if found is None else found[1]}
