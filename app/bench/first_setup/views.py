"""The list of the first set-up, under Shop; the empty bench shows the same."""

from __future__ import annotations

from flask import Blueprint, render_template

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.bench.first_setup.queries import setup
from app.shop.queries import the_shop

bp = Blueprint("first_setup", __name__, url_prefix="/shop/first-setup")


@bp.get("")
@may(May.SETTINGS)
def page() -> str:
    """What is done and what is not."""
    return render_template("bench/first_setup.html", setup=setup(clock.now().astimezone(the_shop().zone).date()))
