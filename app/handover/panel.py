"""The return's sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.handover import queries
from app.orders.models import RepairOrder
from app.orders.stages import Stage


def values(order: RepairOrder) -> dict[str, Any]:
    """How far the return has come, in which way, and later orders that came back after this one."""
    there, key = queries.written_down(order.id), order.id
    return {"at_return": order.stage is Stage.RETURN, "signed": queries.signature(key) if there.signed else None,
            "settlement": queries.settlement(key) if there.settled else None,
            "unrepaired": queries.unrepaired(key) if there.unrepaired else None,
            "acknowledged": queries.acknowledgement(key) if there.unrepaired else None,
            "notices": queries.standing_notices(key) if there.noticed else [],
            "disposal": queries.disposal(key) if there.disposed else None,
            "come_backs": queries.come_backs(key) if there.came_back else []}
