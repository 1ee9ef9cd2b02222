"""Keeping a calculation, putting another in its place, and handing its figures to the order."""

from __future__ import annotations

from datetime import datetime

from app.bench.sums import forms
from app.bench.sums.sections import SUMS
from app.bench.sums.targets import Target
from app.bench.sums.work import Worked
from app.db import session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kept.models import KeptSum, SumUse
from app.kept.rules import KeptFigure, check_fits
from app.kept.service import must_stand, note_use
from app.measuring.service import points
from app.orders.models import RepairOrder
from app.orders.queries import find
from app.orders.service import must_be_open
from app.parts import service as parts


def keep_sum(worked: Worked, *, order_id: int | None, note: str, replaces: KeptSum | None = None, by: Actor,
             now: datetime) -> KeptSum:
    """Store a sum with its values and its answer, for an open order or on its own; `replaces`: in place of this one.

    What rests on the replaced one is not moved: it is marked, and somebody decides what the new figure means there.
    """
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
    if replaces is not None:
        _may_replace(replaces, worked, order_id)
    meant = forms.values(worked.sum, worked.form)
    kept = KeptSum(
        order_id=order_id, replaces=replaces, section=worked.sum.key, kept_by=by.name, at=now, note=note.strip(),
        given={field.name: {"typed": worked.typed[field.name], "si": meant[field.name], "unit": field.unit}
               for field in worked.sum.fields},
        results={"sentence": worked.answer.sentence,
                 "figures": [{"key": one.key, "label": one.label, "value": one.value, "unit": one.unit}
                             for one in worked.answer.figures]})
    session().add(kept)
    record(Event.SUM_KEPT, kept, by=by, now=now, before={"comes to": replaces.sentence} if replaces else {},
           after={"sum": worked.sum.title, "given": ", ".join(f"{field.label} {worked.typed[field.name]} {field.unit}".strip()
                                                              for field in worked.sum.fields if worked.typed[field.name]),
                  "comes to": worked.answer.sentence})
    return kept


def use(order: RepairOrder, kept: KeptSum, figure: KeptFigure, target: Target, *, by: Actor, now: datetime) -> SumUse:
    """Hand one figure to a part's place, a point or the discharge of the same order, with the calculation named as its source."""
    must_stand(kept)
    if kept.order_id != order.id:
        raise BadInput("It was kept for another repair, or on its own. Open it, and save it for this one first.")
    check_fits(figure, target.purpose, target.unit, kept.figures)
    title = SUMS[kept.section].title if kept.section in SUMS else kept.section
    source = f"calculated {target.purpose.value}: {title}, {figure.words}"
    if target.part is not None:
        parts.rate(order, target.part, target.purpose, figure.value, source, by=by, now=now)
    elif target.point is not None:
        points.expect(target.point, figure.value, source, by=by, now=now)
    return note_use(kept, figure, target.purpose, title=title, place=target.place, part_id=target.part.id if target.part else None,
                    point_id=target.point.id if target.point else None, by=by, now=now)


def _may_replace(replaces: KeptSum, worked: Worked, order_id: int | None) -> None:
    must_stand(replaces)
    if replaces.section != worked.sum.key or replaces.order_id != order_id:
        raise BadInput("It takes the place of one of the same kind for the same repair. Choose that repair.", "order_id")
