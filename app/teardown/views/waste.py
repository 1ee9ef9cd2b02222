"""The waste log of an order."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.accounts.rules import May
from app.db import session
from app.errors import NotFound
from app.orders.models import RepairOrder
from app.teardown import queries, service
from app.teardown.forms import HandOverForm, ReasonForm, WasteForm
from app.teardown.models import Waste
from app.teardown.rules.waste import Material
from app.teardown.views.room import bp
from app.web import actor, load_order, may, read_form, saving
from app.web.guard import allow


@bp.route("/waste", methods=["GET", "POST"])
@may(May.SEE)
def waste(order_id: int) -> Response | str:
    """What came out and where it is; the caution of each material beside it."""
    order = load_order(order_id)
    form = read_form(WasteForm, unit="pieces")
    if request.method == "POST":
        allow(May.WORK)
        if form.validate():
            with saving() as saved:
                service.record_waste(order, material=form.material.data, presumed=form.presumed.data,
                                     quantity=form.quantity.data, unit=form.unit.data, container=form.container.data,
                                     note=form.note.data or "", by=actor(), now=clock.now())
                flash("Logged.", "saved")
                return saved("teardown.waste", order_id=order_id)
    return render_template("teardown/waste.html", order=order, form=form, rows=queries.waste_of(order),
                           materials=list(Material), has_errors=form.has_errors)


@bp.route("/waste/<int:waste_id>/hand-over", methods=["GET", "POST"])
@may(May.WORK)
def hand_over_waste(order_id: int, waste_id: int) -> Response | str:
    order, found = _load(order_id, waste_id)
    form = read_form(HandOverForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            service.hand_over(found, to=form.to.data, paper=form.paper.data or "", by=actor(), now=clock.now())
            flash("Noted as handed over.", "saved")
            return saved("teardown.waste", order_id=order_id)
    return render_template("teardown/hand_over_waste.html", order=order, waste=found, form=form, has_errors=form.has_errors)


@bp.route("/waste/<int:waste_id>/strike", methods=["GET", "POST"])
@may(May.WORK)
def strike_waste(order_id: int, waste_id: int) -> Response | str:
    order, found = _load(order_id, waste_id)
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            service.strike_waste(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash("The entry is struck.", "saved")
            return saved("teardown.waste", order_id=order_id)
    return render_template("teardown/strike_waste.html", order=order, waste=found, form=form, has_errors=form.has_errors)


def _load(order_id: int, waste_id: int) -> tuple[RepairOrder, Waste]:
    order = load_order(order_id, May.WORK)
    found = session().get(Waste, waste_id)
    if found is None or found.order_id != order.id:
        raise NotFound("There is no such entry in the waste log.")
    return order, found
