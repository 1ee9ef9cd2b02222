"""What these pages share: the blueprint, and coming by a record of this order."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, request

from app import clock
from app.access.guard import actor
from app.access.rules import May
from app.db import session
from app.errors import NotFound
from app.kernel.resubmitted_uploads import uploads
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos import queries as photo_queries
from app.photos import service as photos
from app.photos.models import Phase, Photo
from app.photos.prepare import Prepared, prepare_all
from app.removals import queries
from app.removals.models import Removal

pins.register(pins.Kind("removal", "removal", "removals.one", "removal_id", "removals.new"))

bp = Blueprint("removals", __name__, url_prefix="/orders/<int:order_id>/removals")


def load_removal(order_id: int, removal_id: int, what: May = May.SEE) -> tuple[RepairOrder, Removal]:
    """The order and one of its removals."""
    order = load_order(order_id, what)
    return order, of_this(order, queries.find(removal_id))


def of_this(order: RepairOrder, found: Any) -> Any:
    """The record, if it belongs to this order."""
    if found is None or found.order_id != order.id:
        raise NotFound("There is no such record on this repair.")
    return found



def prepare_uploads(field: str) -> list[Prepared]:
    """Photos that came with the form, prepared outside the write lock; one that cannot be read is said and left out."""
    if request.method != "POST":
        return []
    ready, refused = prepare_all(uploads(field))
    for bad in refused:
        flash(f"{bad.name} was not kept: {bad.words}", "refused")
    return ready


def attach_photos(order: RepairOrder, removal: Removal, form: Any, ready: list[Prepared]) -> None:
    """Pin the removal to the photo that was open; photos that came with the form show it as a whole. The first is its own."""
    by, now = actor(), clock.now()
    shown = photo_of(order, form.photo_id.data)
    if shown is not None:
        pins.drop(shown, "removal", removal.id, removal.mark, x=form.pin_x.data, y=form.pin_y.data, by=by, now=now)
    for one in ready:
        taken_now = photos.add(order, one, place=removal.place or removal.name, caption=f"{removal.mark} coming off",
                               phase=Phase.AS_FOUND, by=by, now=now)
        pins.drop(taken_now, "removal", removal.id, removal.mark, by=by, now=now)
        shown = shown or taken_now
    if shown is not None and removal.photo_id is None:
        removal.photo_id = shown.id


def photo_of(order: RepairOrder, photo_id: int | None) -> Photo | None:
    """A photo of this order that stands."""
    found = photo_queries.find(photo_id) if photo_id else None
    return found if found is not None and found.order_id == order.id and found.struck_at is None else None


def add_photos(order: RepairOrder, ready: list[Prepared], place: str, caption: str) -> int | None:
    """Put photos on the order; the id of the first."""
    made = [photos.add(order, one, place=place, caption=caption, phase=Phase.AS_FOUND, by=actor(), now=clock.now())
            for one in ready]
    session().flush()
    return made[0].id if made else None
