"""What runs by the clock while a quote is out."""

from __future__ import annotations

from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.orders.standing import after
from app.quote import queries


def quote_lapses(order: RepairOrder) -> list[Clock]:
    """The revision in force, while nobody has answered it, can be answered no longer."""
    quote, answer = queries.current(order), queries.authorisation(order)
    if quote is None or (answer is not None and answer.quote_id == quote.id):
        return []
    return [Clock(after(quote.valid_until), f"Revision {quote.number} of the quote no longer valid", "quote.page",
                  (("order_id", order.id),))]
