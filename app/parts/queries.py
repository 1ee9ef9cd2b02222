"""Reading the parts of an order."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.orders.models import RepairOrder
from app.parts.models import Part
from app.parts.rules import Dropped, PartState
from app.quote import queries as quote
from app.quote.costs import adds_cost
from app.quote.models import IssuedLine
from app.quote.rules.costs import PartCost
from app.request_cache import cached_until_write

_ORDER = (PartState.NEEDED, PartState.ORDERED, PartState.RECEIVED, PartState.FITTED, PartState.DROPPED)


def find(part_id: int) -> Part | None:
    """The part with this id."""
    return session().get(Part, part_id)


@cached_until_write
def parts_of(order: RepairOrder) -> Sequence[Part]:
    """Every part of an order, dropped ones last, those that wait longest first."""
    found = session().scalars(sa.select(Part).where(Part.order_id == order.id).order_by(Part.id))
    return sorted(found, key=lambda part: (_ORDER.index(part.state), part.id))


def fitted(order: RepairOrder) -> list[Part]:
    """The parts that are in the amp."""
    return [part for part in parts_of(order) if part.state is PartState.FITTED]


def total_charged(order: RepairOrder) -> int:
    """What the received and fitted parts are charged at together, minor units before tax."""
    return sum(part.cost_minor for part in parts_of(order) if part.state in (PartState.RECEIVED, PartState.FITTED))


def called_for(order: RepairOrder) -> list[Part]:
    """Parts that count: those of an agreed line, and those that no line calls for; dropped ones left out."""
    agreed = quote.agreed_line_roots(order)
    return [part for part in parts_of(order)
            if part.state is not PartState.DROPPED and (part.line_root_id is None or part.line_root_id in agreed)]


def to_get_again(order: RepairOrder) -> list[Part]:
    """Dropped parts that are needed all the same and that none is got for yet: cancelled, or come and sent back."""
    every, agreed = parts_of(order), quote.agreed_line_roots(order)
    again = {part.again_of_id for part in every}
    return [part for part in every if part.dropped_how in (Dropped.CANCELLED, Dropped.SENT_BACK) and part.id not in again
            and (part.line_root_id is None or part.line_root_id in agreed)]


def is_needed_still(part: Part) -> bool:
    """Whether a dropped part is needed all the same and none is got for it yet."""
    if part.dropped_how not in (Dropped.CANCELLED, Dropped.SENT_BACK):
        return False
    return session().scalar(sa.select(Part.id).where(Part.again_of_id == part.id)) is None


def lines_without_parts(order: RepairOrder) -> list[IssuedLine]:
    """Agreed lines that name parts of which none is written down here. One that was dropped is asked for by `to_get_again`."""
    known = {part.line_root_id for part in parts_of(order)}
    return [line for line in quote.agreed_lines(order) if line.parts and line.line_root_id not in known]


@adds_cost
def costs_of_parts(order: RepairOrder) -> list[PartCost]:
    """What ordered and received parts are charged at, by the line that calls for them."""
    return [PartCost(part.line_root_id, part.cost_minor) for part in parts_of(order) if part.cost_minor]
