"""The return's sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.handover import queries
from app.orders.models import RepairOrder
from app.orders.stages import Stage


def values(order: RepairOrder) -> dict[str, Any]:
    """How far the return has come, in which way, and later orders that came back after this one."""
    return {"at_return": order.stage is Stage.RETURN, "signed": queries.signature(order.id),
            "settlement": queries.settlement(order.id), "unrepaired": queries.unrepaired(order.id),
            "acknowledged": queries.acknowledgement(order.id), "notices": queries.standing_notices(order.id),
            "disposal": queries.disposal(order.id), "come_backs": queries.come_backs(order.id)}
