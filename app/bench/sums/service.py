"""Keeping a sum."""

from __future__ import annotations

from datetime import datetime

from app.bench.sums import forms
from app.bench.sums.models import KeptSum
from app.bench.sums.work import Worked
from app.db import session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.queries import find
from app.orders.service import must_be_open


def keep_sum(worked: Worked, *, order_id: int | None, note: str, by: Actor, now: datetime) -> KeptSum:
    """Store a sum with its values and its answer, for an open order or on its own."""
    if worked.answer is None:
        raise BadInput("There is no answer to keep yet.")
    if worked.examples:
        named = ", ".join(field.label for field in worked.examples)
        raise BadInput(f"Example values are not saved. Enter your own, or tick that they are yours: {named}.")
    if order_id is not None:
        order = find(order_id)
        if order is None:
            raise BadInput("Choose one of the open orders.", "order_id")
        must_be_open(order)
    meant = forms.values(worked.sum, worked.form)
    kept = KeptSum(
        order_id=order_id, section=worked.sum.key, kept_by=by.name, at=now, note=note.strip(),
        given={field.name: {"typed": worked.typed[field.name], "si": meant[field.name], "unit": field.unit}
               for field in worked.sum.fields},
        results={"sentence": worked.answer.sentence,
                 "figures": [{"key": one.key, "label": one.label, "value": one.value, "unit": one.unit}
                             for one in worked.answer.figures]})
    session().add(kept)
    record(Event.SUM_KEPT, kept, by=by, now=now,
           after={"sum": worked.sum.title, "given": ", ".join(f"{field.label} {worked.typed[field.name]} {field.unit}".strip()
                                                              for field in worked.sum.fields if worked.typed[field.name]),
                  "comes to": worked.answer.sentence})
    return kept
