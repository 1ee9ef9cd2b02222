"""Moving an order on, or back with a reason."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import GateClosed, RuleBroken
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders import service
from app.orders.forms import MoveBackForm
from app.orders.loading import load_order

bp = Blueprint("orders", __name__, url_prefix="/orders/<int:order_id>")


@bp.post("/on")
@may(May.MOVE)
def move_on(order_id: int) -> Response | tuple[str, int]:
    order = load_order(order_id, May.MOVE)
    try:
        with saving() as saved:
            if request.form.get("from", order.stage.value) != order.stage.value:
                raise RuleBroken(f"It stands at {order.stage.word.lower()} by now: it was moved while this page was open. "
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
