"""What the pages of the quote share."""

from __future__ import annotations

from flask import Blueprint

from app.access.rules import May
from app.errors import NotFound
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.quote import queries
from app.quote.models import Quote, QuoteLine

bp = Blueprint("quote", __name__, url_prefix="/orders/<int:order_id>/quote")


def load_open_order(order_id: int, what: May) -> RepairOrder:
    """The order, for somebody who may do this; refused once it has ended."""
    order = load_order(order_id, what)
    must_be_open(order)
    return order


def load_line(order: RepairOrder, line_id: int) -> QuoteLine:
    """A line of this order's draft."""
    line = queries.find_line(line_id)
    if line is None or line.order_id != order.id:
        raise NotFound("There is no such line on this quote.")
    return line


def load_revision(order: RepairOrder, quote_id: int) -> Quote:
    """A revision of this order's quote."""
    quote = queries.find_revision(quote_id)
    if quote is None or quote.order_id != order.id:
        raise NotFound("There is no such revision of this quote.")
    return quote
