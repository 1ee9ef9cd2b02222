"""The blueprint of an order's readings, and how its pages come by points, readings and instruments."""

from __future__ import annotations

from flask import Blueprint

from app import clock
from app.access.rules import May
from app.errors import NotFound
from app.measuring import queries
from app.measuring.forms import ReadingForm
from app.measuring.models import Instrument, Point, Reading
from app.measuring.rules import Quantity, Standing
from app.orders.loading import load_order
from app.orders.models import RepairOrder

bp = Blueprint("measuring", __name__, url_prefix="/orders/<int:order_id>/readings")


def load_point(order_id: int, point_id: int, what: May) -> tuple[RepairOrder, Point]:
    """An order's point."""
    order, found = load_order(order_id, what), queries.find_point(point_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such point on this order.")
    return order, found


def load_reading(order_id: int, reading_id: int, what: May) -> tuple[RepairOrder, Reading]:
    """An order's reading."""
    order, found = load_order(order_id, what), queries.find_reading(reading_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such reading on this order.")
    return order, found


def load_instrument(instrument_id: int) -> Instrument:
    """An instrument of the bench."""
    instrument = queries.find_instrument(instrument_id)
    if instrument is None:
        raise NotFound("There is no instrument at this address.")
    return instrument


def offer_instruments(form: ReadingForm, quantity: Quantity) -> list[Instrument]:
    """Let the form choose among those that may be used, and return them: first those in date that state the quantity."""
    day = queries.today(clock.now())
    here = sorted(queries.usable(), key=lambda one: (all(kept.quantity is not quantity for kept in one.stated),
                                                     one.standing(day) not in (Standing.IN_DATE, Standing.DUE_SOON)))
    form.offer(here, {one.id: one.standing(day).value for one in here})
    return here
