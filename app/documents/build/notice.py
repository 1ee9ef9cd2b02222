"""The letter to whoever has not come for the amp."""

from __future__ import annotations

from typing import Any

from app.handover import queries as handover
from app.handover.notices import for_jurisdiction
from app.handover.rules import Waiting, earliest
from app.orders.models import RepairOrder
from app.shop.queries import the_shop


def values(order: RepairOrder, about: int = 0) -> dict[str, Any]:
    """One notice with what it must say; nothing if there is no such notice of this order."""
    found = handover.find_notice(about)
    if found is None or found.order_id != order.id:
        return {}
    sent = [one.sent_on for one in handover.standing_notices(order.id) if one.number <= found.number]
    return {"notice": found, "rules": for_jurisdiction(the_shop().jurisdiction), "amp": order.amp,
            "is_last": found.number >= found.wait_notices,
            "over": earliest(sent, Waiting(found.wait_notices, found.wait_days))}
