"""The parts of suppliers' lists that were imported."""

from __future__ import annotations

from flask import Blueprint, render_template

from app.access.guard import may
from app.access.rules import May
from app.errors import NotFound
from app.exchange import queries

bp = Blueprint("exchange", __name__)


@bp.get("/listed-parts/<int:part_id>")
@may(May.PARTS)
def listed_part(part_id: int) -> str:
    """A part of a supplier's list: its newest price, and the ones before."""
    part = queries.listed_part(part_id)
    if part is None:
        raise NotFound("There is no such part on a list.")
    return render_template("exchange/listed_part.html", part=part, prices=queries.prices_of(part))
