"""The waste log of an order."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.db import session
from app.errors import NotFound
from app.findings import queries
from app.findings.forms.findings import ReasonForm
from app.findings.forms.waste import HandOverForm, WasteForm
from app.findings.models.waste import Waste
from app.findings.rules.waste import Material
from app.findings.service import waste as waste_service
from app.findings.views.room import bp
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder


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
                waste_service.record_waste(order, material=form.material.data, presumed=form.presumed.data,
                                     quantity=form.quantity.data, unit=form.unit.data, container=form.container.data,
                                     note=form.note.data or "", by=actor(), now=clock.now())
                flash("Logged.", "saved")
                return saved("findings.waste", order_id=order_id)
    return render_template("findings/waste.html", order=order, form=form, rows=queries.waste_of(order),
                           materials=list(Material), has_errors=form.has_errors)


@bp.route("/waste/<int:waste_id>/hand-over", methods=["GET", "POST"])
@may(May.WORK)
def transfer_waste(order_id: int, waste_id: int) -> Response | str:
    order, found = _load(order_id, waste_id)
    form = read_form(HandOverForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            waste_service.transfer_waste(found, to=form.to.data, paper=form.paper.data or "", by=actor(), now=clock.now())
            flash("Noted as handed over.", "saved")
            return saved("findings.waste", order_id=order_id)
    return render_template("findings/transfer_waste.html", order=order, waste=found, form=form, has_errors=form.has_errors)


@bp.route("/waste/<int:waste_id>/strike", methods=["GET", "POST"])
@may(May.WORK)
def strike_waste(order_id: int, waste_id: int) -> Response | str:
    order, found = _load(order_id, waste_id)
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            waste_service.strike_waste(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash("The entry is struck.", "saved")
            return saved("findings.waste", order_id=order_id)
    return render_template("findings/strike_waste.html", order=order, waste=found, form=form, has_errors=form.has_errors)


def _load(order_id: int, waste_id: int) -> tuple[RepairOrder, Waste]:
    order = load_order(order_id, May.WORK)
    found = session().get(Waste, waste_id)
    if found is None or found.order_id != order.id:
        raise NotFound("There is no such entry in the waste log.")
    return order, found
