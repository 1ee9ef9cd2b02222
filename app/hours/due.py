"""What the hours make due: a call about them, and a promised day that is near or at risk."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa

from app.errors import Missing
from app.hours.models import OrderOutlook
from app.orders.due import OPEN, UNTIL, Asked, Due, Source, asks, from_row
from app.orders.models import OrderStanding, RepairOrder
from app.records.models import Amp, Customer

CALL, PROMISE = "Call", "Promised day"
PAGE = "hours.call"
AT_RISK = 0.5  # of the simulated queues pass the promised day; the bench list marks it from there too


def _calls(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    """What the gate asks for, in its own words; it has no day, so it is due today."""
    for row in rows:
        for text, endpoint, values, _holds in json.loads(row.more):
            if endpoint == PAGE:
                yield from_row(row, text, asked.today, Missing(text, endpoint, tuple(map(tuple, values))))


def _promises(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    for row in rows:
        risk = f"Late in {round(row.share * 100)} % of the simulated queues." if row.share and row.share >= AT_RISK else ""
        past = "The promised day is past." if row.day < asked.today else "The customer was promised an answer by this day."
        yield from_row(row, " ".join(filter(None, (past, risk))), row.day,
                       Missing(past, "intake.place", (("order_id", row.order_id),)))


CALLS = Source(CALL, asks(CALL, more=sa.cast(OrderStanding.missing, sa.Text))
               .join_from(RepairOrder, OrderStanding, OrderStanding.order_id == RepairOrder.id)
               .join(Amp, Amp.id == RepairOrder.amp_id).join(Customer, Customer.id == RepairOrder.authority_id)
               .where(OPEN, sa.cast(OrderStanding.missing, sa.Text).contains(f'"{PAGE}"')), _calls)
PROMISES = Source(PROMISE, asks(PROMISE, day=RepairOrder.promised_on, share=OrderOutlook.late_share)
                  .join_from(RepairOrder, OrderOutlook, OrderOutlook.order_id == RepairOrder.id, isouter=True)
                  .join(Amp, Amp.id == RepairOrder.amp_id).join(Customer, Customer.id == RepairOrder.depositor_id)
                  .where(OPEN, RepairOrder.promised_on <= UNTIL), _promises, ahead=14)
