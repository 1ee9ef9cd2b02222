"""Making the amp safe, and saying that it was powered again."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.accounts.rules import May
from app.errors import BadInput
from app.shop.queries import the_shop
from app.teardown import queries, service
from app.teardown.forms import MadeSafeForm, PoweredForm
from app.teardown.views.room import bp
from app.web import actor, load_order, may, read_form, saving
from app.web.guard import allow


@bp.route("/made-safe", methods=["GET", "POST"])
@may(May.SEE)
def made_safe(order_id: int) -> Response | str:
    """The cautions, then what the meter showed."""
    order = load_order(order_id)
    past = queries.times_made_safe(order)
    form = read_form(MadeSafeForm, across=past[0].across if past else "the first supply capacitor",
                     instrument=past[0].instrument if past else "", how=past[0].how if past else "")
    if request.method == "POST":
        allow(May.WORK)
        if form.validate() and form.volts.data is not None:
            try:
                with saving() as saved:
                    service.record_made_safe(order, volts=form.volts.data, across=form.across.data,
                                             instrument=form.instrument.data, how=form.how.data or "", by=actor(),
                                             now=clock.now())
                    flash("Recorded as made safe.", "saved")
                    return saved("teardown.page", order_id=order_id)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("teardown/made_safe.html", order=order, form=form, past=past, safe=queries.made_safe(order),
                           limit=the_shop().safe_volts, has_errors=form.has_errors)


@bp.route("/powered-again", methods=["GET", "POST"])
@may(May.WORK)
def powered(order_id: int) -> Response | str:
    """It was switched on: what was measured holds no more."""
    order = load_order(order_id, May.WORK)
    form = read_form(PoweredForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            service.powered_again(order, reason=form.reason.data, by=actor(), now=clock.now())
            flash("Noted: before hands go in again, discharge and measure.", "saved")
            return saved("teardown.page", order_id=order_id)
    return render_template("teardown/powered.html", order=order, form=form, has_errors=form.has_errors)
