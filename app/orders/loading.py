"""How a view comes by a repair order."""

from __future__ import annotations

from app.access.guard import allow
from app.access.rules import May
from app.errors import NotFound
from app.orders.models import RepairOrder
from app.orders.queries import find


def load_order(order_id: int, what: May = May.SEE) -> RepairOrder:
    """The one way for a view to come by an order: it is there, and this person may do this with it."""
    allow(what)
    order = find(order_id)
    if order is None:
        raise NotFound("There is no repair order at this address.")
    return order
