"""Noting what rests on a kept calculation, ending that, and withdrawing a calculation."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kept.models import KeptSum, SumUse
from app.kept.rules import KeptFigure, Purpose
from app.orders.service import must_be_open_still


def note_use(kept: KeptSum, figure: KeptFigure, purpose: Purpose, *, title: str, place: str, part_id: int | None = None,
             point_id: int | None = None, by: Actor, now: datetime) -> SumUse:
    """Keep that the order takes this figure for this purpose, in place of what it took before. The value is set by its own room."""
    must_stand(kept)
    if kept.order_id is None:
        raise BadInput("It was kept on its own. Open it, and save it for the repair first.")
    must_be_open_still(kept.order_id)
    for earlier in _standing(kept.order_id, purpose, part_id, point_id):
        earlier.ended_at = now
    use = SumUse(order_id=kept.order_id, sum_id=kept.id, purpose=purpose, figure=figure.key, value=figure.value, unit=figure.unit,
                 said=f"{title}: {figure.words}", part_id=part_id, point_id=point_id, at=now, by_name=by.name)
    session().add(use)
    record(Event.SUM_USED, use, by=by, now=now, after={"sum": use.said, "for": f"{purpose.value}: {place}"})
    return use


def end_uses_of_part(part_id: int, values: dict[Purpose, float | None], *, now: datetime) -> None:
    """A part's place was entered otherwise than the calculation said: it no longer rests on it. Told by the part's own entry."""
    for use in session().scalars(sa.select(SumUse).where(SumUse.part_id == part_id, SumUse.ended_at.is_(None))):
        if values.get(use.purpose) != use.value:
            use.ended_at = now


def end_use(use: SumUse, *, now: datetime) -> None:
    """Its place was looked at again and no longer rests on the calculation. Told by the part's own entry."""
    use.ended_at = now


def carry_over(from_part_id: int, part_id: int, values: dict[Purpose, float | None], *, by: Actor, now: datetime) -> None:
    """A part that is got in place of another rests on the same calculations, standing or not, as far as its figures are theirs."""
    for use in session().scalars(sa.select(SumUse).where(SumUse.part_id == from_part_id, SumUse.ended_at.is_(None))):
        if values.get(use.purpose) == use.value:
            made = SumUse(order_id=use.order_id, sum_id=use.sum_id, purpose=use.purpose, figure=use.figure, value=use.value,
                          unit=use.unit, said=use.said, part_id=part_id, at=now, by_name=by.name)
            session().add(made)
            record(Event.SUM_USED, made, by=by, now=now, after={"sum": made.said,
                                                                       "for": f"{made.purpose.value}: the part got again"})


def end_use_of_point(point_id: int, value: float | None, *, now: datetime) -> None:
    """The same of what a point should read."""
    for use in session().scalars(sa.select(SumUse).where(SumUse.point_id == point_id, SumUse.ended_at.is_(None))):
        if value != use.value:
            use.ended_at = now


def withdraw(kept: KeptSum, reason: str, *, by: Actor, now: datetime) -> None:
    """It was wrong, and no other takes its place yet. It stays readable, and what rests on it is marked."""
    must_stand(kept)
    if kept.order_id is not None:
        must_be_open_still(kept.order_id)
    if not reason.strip():
        raise BadInput("Enter why it is withdrawn.", "reason")
    kept.withdrawn_at, kept.withdrawn_by, kept.withdrawn_reason = now, by.name, reason.strip()
    record(Event.SUM_WITHDRAWN, kept, by=by, now=now, before={"sum": kept.sentence}, reason=kept.withdrawn_reason)


def must_stand(kept: KeptSum) -> None:
    """Refuse a calculation that was replaced or withdrawn."""
    if not kept.stands:
        raise RuleBroken(f"This calculation was {kept.end_words}. Use the one that stands.")


def _standing(order_id: int, purpose: Purpose, part_id: int | None, point_id: int | None) -> list[SumUse]:
    asked = sa.select(SumUse).where(SumUse.order_id == order_id, SumUse.purpose == purpose, SumUse.ended_at.is_(None),
                                    SumUse.part_id.is_(part_id) if part_id is None else SumUse.part_id == part_id,
                                    SumUse.point_id.is_(point_id) if point_id is None else SumUse.point_id == point_id)
    return list(session().scalars(asked))
