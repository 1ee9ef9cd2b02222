"""The quote as it was issued, with the answer to it where there is one."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.photos import pins
from app.quote import queries as quotes
from app.quote.rules.words import LineGroup, asked


def values(order: RepairOrder, _about: int = 0) -> dict[str, Any]:
    """The newest revision by groups; nothing before one is issued."""
    quote = quotes.current(order)
    if quote is None:
        return {}
    answer = quotes.authorisation(order)
    if answer is not None and answer.quote_id != quote.id:
        answer = None
    photos = pins.photos_by_record(order.id, "finding")
    groups = [(group, [line for line in quote.lines if line.group is group]) for group in LineGroup]
    told = {one.line.id: one.agreed for one in answer.decisions} if answer else {}
    return {"quote": quote, "groups": [(group, lines, asked(group)) for group, lines in groups if lines], "answer": answer,
            "told": told, "photos": photos, "acknowledged": [one for one in quotes.acknowledgements(order.id)
                                                             if one.issued_line_id in {line.id for line in quote.lines}]}
