"""What the pages of an order's hours share."""

from __future__ import annotations

from flask import Blueprint

from app.access.rules import May
from app.errors import NotFound
from app.hours.models import TimeEntry
from app.hours.queries import tasks as queries
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open

bp = Blueprint("hours", __name__, url_prefix="/orders/<int:order_id>/hours")


def load_open_order(order_id: int, what: May = May.WORK) -> RepairOrder:
    """An order that hours can be entered on."""
    order = load_order(order_id, what)
    must_be_open(order)
    return order


def load_entry(order: RepairOrder, entry_id: int) -> TimeEntry:
    """A time entry of this order."""
    found = queries.find_entry(entry_id)
    if found is None or found.order_id != order.id:
        raise NotFound("There is no such entry on this repair.")
    return found
