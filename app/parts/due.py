"""What ordered parts make due: their arrival."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from app.errors import Missing
from app.orders.due import OPEN, UNTIL, Asked, Due, Source, asks, from_row
from app.orders.models import RepairOrder
from app.parts.models import Part
from app.parts.rules import PartState
from app.records.models import Amp

ARRIVAL = "Part"


def _arrivals(rows: Sequence[Any], _asked: Asked) -> Iterable[Due]:
    for row in rows:
        text = f"{row.words} is expected{f' from {row.more}' if row.more else ''}."
        yield from_row(row, text, row.day, Missing(text, "parts.receive", (("order_id", row.order_id),
                                                                           ("part_id", row.subject_id))))


ARRIVALS = Source(ARRIVAL, asks(ARRIVAL, of_customer=False, subject_id=Part.id, day=Part.expected_on, words=Part.what,
                                more=Part.supplier)
                  .join_from(Part, RepairOrder, RepairOrder.id == Part.order_id).join(Amp, Amp.id == RepairOrder.amp_id)
                  .where(OPEN, Part.state == PartState.ORDERED, Part.expected_on <= UNTIL), _arrivals)
