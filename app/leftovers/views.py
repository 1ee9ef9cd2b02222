"""The owner's list of words that a migration could not match, and the page of one."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.kernel.form_fields import House, read_form
from app.kernel.saving import check_fresh, saving
from app.leftovers import queries, service
from app.leftovers.forms import MatchForm, SetAsideForm
from app.leftovers.models import Leftover
from app.orders.loading import load_order
from app.photos import pins

pins.register(pins.Kind("leftover", "name not matched", "leftovers.of_order", "leftover_id", ""))

bp = Blueprint("leftovers", __name__)


@bp.get("/shop/leftovers")
@may(May.SETTINGS)
def page() -> str:
    """Everything that could not be matched, open entries first."""
    return render_template("leftovers/page.html", rows=queries.everything())


@bp.get("/orders/<int:order_id>/leftovers/<int:leftover_id>")
@may(May.SEE)
def of_order(order_id: int, leftover_id: int) -> str:
    """What is known of one of an order's, for everybody who meets it on a photo."""
    return _page(_found(leftover_id, order_id), MatchForm(), SetAsideForm())


@bp.post("/shop/leftovers/<int:leftover_id>/match")
@may(May.SETTINGS)
def match(leftover_id: int) -> Response | str:
    """It names this."""
    leftover, form = _found(leftover_id), read_form(MatchForm)
    order = load_order(leftover.order_id)
    return _saved(leftover, form, lambda: service.match(leftover, order, form.chosen.data or "", by=actor(), now=clock.now()),
                  "Matched.") or _page(leftover, form, SetAsideForm())


@bp.post("/shop/leftovers/<int:leftover_id>/set-aside")
@may(May.SETTINGS)
def set_aside(leftover_id: int) -> Response | str:
    """It names nothing that has a record."""
    leftover, form = _found(leftover_id), read_form(SetAsideForm)
    return _saved(leftover, form, lambda: service.set_aside(leftover, reason=form.reason.data or "", alike=bool(form.alike.data),
                                                            by=actor(), now=clock.now()),
                  "Set aside.") or _page(leftover, MatchForm(), form)


def _found(leftover_id: int, order_id: int | None = None) -> Leftover:
    leftover = queries.find(leftover_id)
    if leftover is None or order_id not in (None, leftover.order_id):
        raise NotFound("There is no such entry on the list.")
    return leftover


def _saved(leftover: Leftover, form: House, act: Callable[[], object], words: str) -> Response | None:
    if not form.validate():
        return None
    try:
        with saving() as saved:
            check_fresh(leftover)
            act()
            flash(words, "saved")
            return saved("leftovers.page")
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def _page(leftover: Leftover, match_form: MatchForm, aside_form: SetAsideForm) -> str:
    order = load_order(leftover.order_id)
    match_form.offer(queries.choices(leftover, order))
    return render_template("leftovers/one.html", order=order, leftover=leftover, match_form=match_form, aside_form=aside_form,
                           alike=len(queries.alike(leftover)),
                           version=request.form.get("version", "") or leftover.version,
                           has_errors=match_form.has_errors or aside_form.has_errors)
