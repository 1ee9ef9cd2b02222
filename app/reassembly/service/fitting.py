"""The one tap that says what the records do not: whether something conducts between the mains and the metal."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.reassembly.models import MainsFitting
from app.removals.rules import fold


def answer_fitted(order: RepairOrder, *, conducts: bool, words: str = "", by: Actor, now: datetime) -> MainsFitting:
    """Whether a filter, suppressor or varistor lies there, and which; a later answer stands in its place."""
    must_be_open(order)
    answer = MainsFitting(order_id=order.id, conducts=conducts, words=fold(words), at=now, by_name=by.name)
    session().add(answer)
    record(Event.MAINS_FITTING_ANSWERED, answer, by=by, now=now,
           after={"between mains and metal": (answer.words or "a filter, suppressor or varistor") if conducts else "nothing"})
    return answer
