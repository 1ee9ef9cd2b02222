"""Points of an order: adding, changing, withdrawing, and every reading of one."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.kept import queries as kept
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.measuring import queries
from app.measuring.forms import PointForm, WithdrawForm
from app.measuring.rules import Quantity
from app.measuring.service import points as points_service
from app.measuring.views.common import bp, load_point
from app.orders.loading import load_order


@bp.route("/points/add", methods=["GET", "POST"])
@may(May.WORK)
def add_point(order_id: int) -> Response | str:
    """One more point of this amp."""
    order = load_order(order_id, May.WORK)
    form = read_form(PointForm, quantity=Quantity.VOLT_DC)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = points_service.add_point(order, form.facts(), by=actor(), now=clock.now())
                flash(f"{made.name} added.", "saved")
                return saved("measuring.take", order_id=order_id, point_id=made.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/point_form.html", order=order, point=None, form=form, has_errors=form.has_errors)


@bp.get("/points/<int:point_id>")
@may(May.SEE)
def point(order_id: int, point_id: int) -> str:
    """One point with every reading of it."""
    order, found = load_point(order_id, point_id, May.SEE)
    return render_template("measuring/point.html", order=order, point=found, readings=queries.history_of(found),
                           uses=kept.of_point(order_id, point_id))


@bp.route("/points/<int:point_id>/change", methods=["GET", "POST"])
@may(May.WORK)
def change_point(order_id: int, point_id: int) -> Response | str:
    """What it should read."""
    order, found = load_point(order_id, point_id, May.WORK)
    form = read_form(PointForm, **PointForm.stored(found))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(found)
                points_service.change_point(found, form.facts(), by=actor(), now=clock.now())
                flash(f"{found.name} changed. Readings already taken keep what they were judged by.", "saved")
                return saved("measuring.point", order_id=order_id, point_id=point_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/point_form.html", order=order, point=found, form=form, has_errors=form.has_errors)


@bp.route("/points/<int:point_id>/withdraw", methods=["GET", "POST"])
@may(May.WORK)
def withdraw_point(order_id: int, point_id: int) -> Response | str:
    """This amp has no such point."""
    order, found = load_point(order_id, point_id, May.WORK)
    form = read_form(WithdrawForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            points_service.withdraw_point(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"{found.name} is taken off the list.", "saved")
            return saved("measuring.page", order_id=order_id)
    return render_template("measuring/withdraw.html", order=order, point=found, form=form, has_errors=form.has_errors)
