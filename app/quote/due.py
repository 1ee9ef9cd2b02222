"""What a quote makes due: its answer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from app.errors import Missing
from app.orders.due import OPEN, UNTIL, Asked, Due, Source, asks, from_row
from app.orders.models import RepairOrder
from app.quote.models import Authorisation, Quote
from app.records.models import Amp, Customer

REPLY = "Quote reply"
_LATER = aliased(Quote)


def _replies(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    for row in rows:
        text = (f"Revision {row.words} of the quote has no answer and is no longer valid." if row.day < asked.today
                else f"Revision {row.words} of the quote has no answer yet. This is its last valid day.")
        yield from_row(row, text, row.day, Missing(text, "quote.answer", (("order_id", row.order_id),)))


REPLIES = Source(REPLY, asks(REPLY, subject_id=Quote.id, day=Quote.valid_until, words=sa.cast(Quote.number, sa.Text))
                 .join_from(Quote, RepairOrder, RepairOrder.id == Quote.order_id).join(Amp, Amp.id == RepairOrder.amp_id)
                 .join(Customer, Customer.id == RepairOrder.authority_id)
                 .where(OPEN, Quote.valid_until <= UNTIL, ~sa.exists().where(_LATER.replaces_id == Quote.id),
                        ~sa.exists().where(Authorisation.quote_id == Quote.id)), _replies)
