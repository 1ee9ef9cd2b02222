"""The quote's sheet on the order's page."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.quote import costs, queries


def values(order: RepairOrder) -> dict[str, Any]:
    """The revision in force, whether it is out of date, the answer to it, and how committed cost stands."""
    quote, answer = queries.current(order), queries.authorisation(order)
    return {"quote": quote, "out_of_date": queries.out_of_date(order), "answer": answer,
            "answered": quote is not None and answer is not None and answer.quote_id == quote.id,
            "lines": queries.lines(order.id), "agreed": queries.agreed_lines(order),
            "to_acknowledge": queries.to_acknowledge(order), "cost": costs.standing(order)}
