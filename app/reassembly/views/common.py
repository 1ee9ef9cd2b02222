"""What these pages share: the blueprint, saving, and coming by a step."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, request
from werkzeug.wrappers import Response

from app.errors import BadInput, NotFound
from app.kernel.form_fields import House
from app.kernel.saving import Saved, saving
from app.orders.models import RepairOrder
from app.reassembly.queries.way import ReassemblyState, way_back

bp = Blueprint("reassembly", __name__, url_prefix="/orders/<int:order_id>/way-back")


def save_or_reshow(form: House, act: Callable[[Saved], Response]) -> Response | None:
    """Save what was posted; None if the page is to be shown (again)."""
    if request.method != "POST" or not form.validate():
        return None
    try:
        with saving() as saved:
            return act(saved)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def planned(order: RepairOrder, step: str) -> ReassemblyState:
    """The way back, if the step is part of it."""
    way = way_back(order, planned=False)
    if step not in way.steps:
        raise NotFound("This step is not part of the way back any more. Look at the plan again.")
    return way
