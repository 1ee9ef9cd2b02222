"""Reading what rests on kept calculations."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import joinedload

from app.db import session
from app.kept.models import KeptSum, SumUse
from app.kept.rules import Purpose
from app.request_cache import cached_until_write


@cached_until_write
def uses_of(order_id: int) -> Sequence[SumUse]:
    """Every figure that the order takes from a kept calculation now, each with the calculation and what replaced it."""
    asked = sa.select(SumUse).where(SumUse.order_id == order_id, SumUse.ended_at.is_(None)).order_by(SumUse.id)
    return session().scalars(asked.options(joinedload(SumUse.kept).joinedload(KeptSum.replaced_by))).all()


def of_parts(order_id: int) -> dict[int, list[SumUse]]:
    """The uses of an order's parts, by part."""
    found: dict[int, list[SumUse]] = {}
    for one in uses_of(order_id):
        if one.part_id is not None:
            found.setdefault(one.part_id, []).append(one)
    return found


def to_settle(order_id: int, part_id: int) -> list[SumUse]:
    """What a part's place takes from calculations that were changed or withdrawn since."""
    return [one for one in of_parts(order_id).get(part_id, ()) if not one.kept.stands]


def find_use(use_id: int) -> SumUse | None:
    """The use with this id."""
    return session().get(SumUse, use_id)


def of_point(order_id: int, point_id: int) -> list[SumUse]:
    """The uses of one point: one at most."""
    return [one for one in uses_of(order_id) if one.point_id == point_id]


def of_discharge(order_id: int) -> dict[Purpose, SumUse]:
    """Stored energy and time to discharge, as far as the order takes them from calculations."""
    return {one.purpose: one for one in uses_of(order_id) if one.part_id is None and one.point_id is None}


def rests_on(kept: KeptSum) -> Sequence[SumUse]:
    """What was taken from one calculation, the newest first, ended uses too."""
    return session().scalars(sa.select(SumUse).where(SumUse.sum_id == kept.id).order_by(SumUse.id.desc())).all()


def find(sum_id: int) -> KeptSum | None:
    """The kept calculation with this id."""
    return session().get(KeptSum, sum_id)
