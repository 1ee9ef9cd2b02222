"""What these pages share: the blueprint, saving, and coming by a step."""

from __future__ import annotations

from collections.abc import Collection

from flask import Blueprint

from app.errors import NotFound
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.measuring.rules import Kind, Quantity
from app.orders.models import RepairOrder
from app.reassembly.queries.way import ReassemblyState, way_back

bp = Blueprint("reassembly", __name__, url_prefix="/orders/<int:order_id>/way-back")



def meters_for(order: RepairOrder, quantity: Quantity, kinds: Collection[Kind] = ()) -> list[Instrument]:
    """The meters that can give such a reading, the one in hand first: that of the newest reading of this order.

    Those that state an accuracy for it; where none does, all, so that the refusal says what is missing.
    """
    listed = [one for one in measuring.usable() if not kinds or one.kind in kinds]
    stated = [one for one in listed if any(each.quantity is quantity for each in one.stated)] or listed
    taken = {one.instrument_id: one.id for one in sorted(measuring.readings_of(order), key=lambda one: one.id)}
    return sorted(stated, key=lambda one: -taken.get(one.id, 0))


def planned(order: RepairOrder, step: str) -> ReassemblyState:
    """The way back, if the step is part of it."""
    way = way_back(order, planned=False)
    if step not in way.steps:
        raise NotFound("This step is not part of the way back any more. Look at the plan again.")
    return way
