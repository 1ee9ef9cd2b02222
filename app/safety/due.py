"""What a safety test makes due: the test again, after one that failed or no longer counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from app.errors import Missing
from app.orders.due import OPEN, Asked, Due, Source, asks, from_row
from app.orders.models import RepairOrder
from app.records.models import Amp
from app.safety.models.testing import SafetyTest
from app.safety.rules import Result

AGAIN = "Safety test again"
_LATER = aliased(SafetyTest)


def _again(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    """It has no day of its own: it is due from the day on which the test failed or was voided."""
    for row in rows:
        text = f"Safety test {row.words} {'is void' if row.more else 'did not pass'}. Repair, then test again."
        yield from_row(row, text, asked.today, Missing(text, "safety.page", (("order_id", row.order_id),)))


RETESTS = Source(AGAIN, asks(AGAIN, of_customer=False, subject_id=SafetyTest.id, words=sa.cast(SafetyTest.number, sa.Text),
                             more=SafetyTest.void_reason)
                 .join_from(SafetyTest, RepairOrder, RepairOrder.id == SafetyTest.order_id).join(Amp, Amp.id == RepairOrder.amp_id)
                 .where(OPEN, sa.or_(SafetyTest.voided_at.is_not(None), SafetyTest.result.in_((Result.FAIL, Result.INCOMPLETE))),
                        ~sa.exists().where(_LATER.order_id == SafetyTest.order_id, _LATER.number > SafetyTest.number)), _again)
