"""The log and the messages on the order's page."""

from __future__ import annotations

from typing import Any

from app.contact import queries
from app.orders.models import RepairOrder

SHOWN = 5


def values(order: RepairOrder) -> dict[str, Any]:
    """The newest entries of the log, and what of its messages is not with their recipient."""
    entries = queries.of_order(order.id)
    return {"entries": entries[:SHOWN], "more": max(0, len(entries) - SHOWN),
            "messages": [one for one in queries.messages_of(order.id) if one.state.value != "accepted by the server"][:SHOWN]}
