"""What these pages share: the blueprint, and coming by a record of this order."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, flash, request
from werkzeug.wrappers import Response

from app import clock
from app.accounts.rules import May
from app.errors import BadInput, NotFound
from app.orders.models import RepairOrder
from app.photos import service as photos
from app.photos.models import Phase
from app.photos.prepare import Prepared, prepare_all
from app.teardown.removals import queries
from app.teardown.removals.models import Removal
from app.web import House, actor, load_order, saving
from app.web.held import uploads
from app.web.saving import Saved

bp = Blueprint("removals", __name__, url_prefix="/orders/<int:order_id>/removals")


def opened(order_id: int, removal_id: int, what: May = May.SEE) -> tuple[RepairOrder, Removal]:
    """The order and one of its removals."""
    order = load_order(order_id, what)
    return order, of_this(order, queries.find(removal_id))


def of_this(order: RepairOrder, found: Any) -> Any:
    """The record, if it belongs to this order."""
    if found is None or found.order_id != order.id:
        raise NotFound("There is no such record on this repair.")
    return found


def kept(form: House, act: Callable[[Saved], Response]) -> Response | None:
    """Save what was posted; None if the page is to be shown (again)."""
    if request.method != "POST" or not form.validate():
        return None
    try:
        with saving() as saved:
            return act(saved)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def taken(field: str) -> list[Prepared]:
    """Photos that came with the form, prepared outside the write lock; one that cannot be read is said and left out."""
    if request.method != "POST":
        return []
    ready, refused = prepare_all(uploads(field))
    for one in refused:
        flash(f"{one.name} was not kept: {one.words}", "refused")
    return ready


def add_photos(order: RepairOrder, ready: list[Prepared], place: str, caption: str) -> int | None:
    """Put them on the order; the id of the first."""
    made = [photos.add(order, one, place=place, caption=caption, phase=Phase.AS_FOUND, by=actor(), now=clock.now())
            for one in ready]
    for one in made[:1]:
        return one.id
    return None
