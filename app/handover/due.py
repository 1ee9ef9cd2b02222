"""What an uncollected amp makes due: its next notice, and the end of the notice period under the rule that each was sent under."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby
from typing import Any

import sqlalchemy as sa

from app.errors import Missing
from app.handover.models import CollectionNotice, UnrepairedReturn
from app.handover.rules import Given, Recipient, Waiting, earliest, still_to_get_one
from app.orders.due import OPEN, Asked, Due, Source, asks, from_row
from app.orders.models import Move, RepairOrder
from app.orders.stages import Stage
from app.records.models import Amp, Customer

NOTICE = "Notice"
# Since when it can be collected: the same as queries.ready_on, asked of every order at once.
ARRIVED = sa.select(sa.func.max(Move.at)).where(Move.order_id == RepairOrder.id, Move.to_stage == Stage.RETURN).scalar_subquery()
WRITTEN = sa.select(sa.func.max(UnrepairedReturn.at)).where(UnrepairedReturn.order_id == RepairOrder.id).scalar_subquery()
READY = sa.case((RepairOrder.stage == Stage.RETURN, sa.func.coalesce(ARRIVED, RepairOrder.opened_at)), else_=WRITTEN)


def _notices(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    for _, of_order in groupby(sorted(rows, key=lambda row: (row.order_id, row.subject_id)), key=lambda row: row.order_id):
        sent = [row for row in of_order if row.at is not None and row.day >= asked.day_of(row.at)]
        if sent:
            yield _of_order(sent, asked)


def _of_order(sent: Sequence[Any], asked: Asked) -> Due:
    """`more`: day given, notices, days, recipients asked for, recipient; with a bar between."""
    given, last = [], sent[-1]
    for row in sent:
        on, _notices_asked, _days, _to, recipient = row.more.split("|")
        given.append(Given(date.fromisoformat(on), Recipient(recipient) if recipient else None))
    _, notices, days, to, _ = last.more.split("|")
    waiting = Waiting(int(notices), int(days), tuple(map(Recipient, to.split(","))) if to else ())
    here, over = (("order_id", last.order_id),), earliest(given, waiting)
    if over is not None:
        text = (f"The notice period under {last.words} is over: check the law here, then record what became of the amp."
                if over <= asked.today else f"The notice period under {last.words} ends.")
        return from_row(last, text, over, Missing(text, "handover.uncollected", here))
    who = still_to_get_one(given, waiting)
    text = (f"{last.words} asks for a notice to {who.value} as well." if who else
            f"Notice {len(sent)} of {waiting.notices} is sent: send the next one.")
    return from_row(last, text, asked.today, Missing(text, "handover.notice", here))


def _text(column: Any) -> Any:
    return sa.func.coalesce(sa.cast(column, sa.Text), "")


NOTICES = Source(NOTICE, asks(
    NOTICE, subject_id=CollectionNotice.number, day=CollectionNotice.sent_on, at=READY, words=CollectionNotice.rule,
    more=_text(CollectionNotice.given_on) + "|" + _text(CollectionNotice.wait_notices) + "|"
    + _text(CollectionNotice.wait_days) + "|" + CollectionNotice.wait_to + "|" + _text(CollectionNotice.recipient))
    .join_from(CollectionNotice, RepairOrder, RepairOrder.id == CollectionNotice.order_id)
    .join(Amp, Amp.id == RepairOrder.amp_id).join(Customer, Customer.id == RepairOrder.depositor_id)
    .where(OPEN, CollectionNotice.struck_at.is_(None)), _notices)
