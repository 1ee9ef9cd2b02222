"""Moving an order on, or back with a reason."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, GateClosed, RuleBroken
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders import power, service
from app.orders.forms import MoveBackForm, PowerUpForm
from app.orders.loading import load_order

bp = Blueprint("orders", __name__, url_prefix="/orders/<int:order_id>")


@bp.post("/on")
@may(May.MOVE)
def move_on(order_id: int) -> Response | tuple[str, int]:
    order = load_order(order_id, May.MOVE)
    try:
        with saving() as saved:
            if request.form.get("from", order.stage.value) != order.stage.value:
                raise RuleBroken(f"It is now at {order.stage.word.lower()}: it was moved after you opened this page. "
                                 "Look at the order before it goes further.")
            there = service.move_on(order, by=actor(), now=clock.now())
            answer = saved("bench.order", order_id=order_id)
    except GateClosed as closed:
        return render_template("orders/refused.html", order=order, closed=closed), closed.status
    flash(f"Now at {there.word.lower()}.", "saved")
    return answer


@bp.route("/back", methods=["GET", "POST"])
@may(May.MOVE)
def move_back(order_id: int) -> Response | str:
    order = load_order(order_id, May.MOVE)
    service.must_be_open(order)
    form = read_form(MoveBackForm)
    form.offer(order.stage)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            service.move_back(order, form.stage.data, reason=form.reason.data, by=actor(), now=clock.now())
            return saved("bench.order", order_id=order_id)
    return render_template("orders/back.html", order=order, form=form, has_errors=form.has_errors)


@bp.route("/power-up", methods=["GET", "POST"])
@may(May.WORK)
def power_up(order_id: int) -> Response | str:
    """It is switched on: what was measured after the discharge holds no more."""
    order = load_order(order_id, May.WORK)
    service.must_be_open(order)
    power.must_not_be_barred(order)
    form = read_form(PowerUpForm, why=request.args.get("why", ""))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                power.power_up_by_word(order, form.why.data, reason=form.reason.data or "", by=actor(), now=clock.now())
                flash("Recorded as powered. Before hands go in again, discharge it and measure.", "saved")
                return saved(_onward(), order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("orders/power_up.html", order=order, form=form, against=power.against(order),
                           then=request.values.get("then", ""), has_errors=form.has_errors)


@bp.post("/powered-again")
@may(May.WORK)
def powered_again(order_id: int) -> Response:
    """By word: it was powered since the discharge was recorded."""
    order = load_order(order_id, May.WORK)
    with saving() as saved:
        power.powered_again(order, by=actor(), now=clock.now())
        flash("Recorded as powered again: it is not shown discharged any more.", "saved")
        return saved("bench.order", order_id=order_id)


@bp.post("/power-off")
@may(May.WORK)
def power_off(order_id: int) -> Response:
    """It is switched off and unplugged."""
    order = load_order(order_id, May.WORK)
    with saving() as saved:
        power.power_off(order, by=actor(), now=clock.now())
        flash("Recorded as off and unplugged. Its capacitors may still be charged: discharge and measure before hands go in.",
              "saved")
        return saved(_onward(), order_id=order_id)


def _onward() -> str:
    """Where it goes on after power went on or off: back to the way back if the page was left for this, else the order."""
    return "reassembly.page" if request.form.get("then") == "way-back" else "bench.order"
