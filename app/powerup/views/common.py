"""The blueprint of a first power-up, and how its views come by a run and its instruments."""

from __future__ import annotations

from flask import Blueprint

from app import clock
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.powerup import queries
from app.powerup.models import PowerUpRun

bp = Blueprint("powerup", __name__, url_prefix="/orders/<int:order_id>/first-power-up")


def load_run(order_id: int, what: May = May.TEST) -> tuple[RepairOrder, PowerUpRun]:
    """An order with its newest run."""
    order = load_order(order_id, what)
    run = queries.run_of(order_id)
    if run is None:
        raise NotFound("No first power-up was begun on this order.")
    return order, run


def meters() -> tuple[list[Instrument], dict[int, str]]:
    """The instruments that may be read, and how each stands today."""
    today = measuring.today(clock.now())
    found = [one for one in measuring.usable() if one.kind.measures]
    return sorted(found, key=lambda one: not one.standing(today).counts), {one.id: one.standing(today).value for one in found}


def meter(instrument_id: int | None, field: str) -> Instrument:
    """The instrument that was chosen."""
    found = measuring.find_instrument(instrument_id) if instrument_id else None
    if found is None:
        raise BadInput("Choose an instrument.", field)
    return found
