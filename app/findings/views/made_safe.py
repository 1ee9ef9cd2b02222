"""Making the amp safe."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.boards import queries as boards_queries
from app.errors import BadInput
from app.findings import queries
from app.findings.forms.made_safe import ExpectForm, MadeSafeForm
from app.findings.rules.discharge import expect
from app.findings.service import made_safe as made_safe_service
from app.findings.views.room import bp
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.measuring import queries as measuring
from app.measuring.rules import Quantity
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.shop.queries import the_shop


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
                    made_safe_service.record_made_safe(order, volts=form.volts.data, across=form.across.data,
                                             instrument=form.instrument.data, how=form.how.data or "", by=actor(),
                                             now=clock.now())
                    flash("The discharge is recorded.", "saved")
                    return saved("findings.page", order_id=order_id)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("findings/made_safe.html", order=order, form=form, past=past, safe=queries.made_safe(order),
                           limit=the_shop().safe_volts, meters=[one.name for one in measuring.usable()],
                           has_errors=form.has_errors, **_expected(order))


def _expected(order: RepairOrder) -> dict[str, Any]:
    """What the supply holds by its own values: what was entered, else the order's electrolytics and its highest volts."""
    own = {"farad": boards_queries.supply_farad(order), "charged_to": _highest_volts(order), "bleeder": 10e3}
    ask = ExpectForm(request.args if request.args.get("farad") else None, data=own)
    farad, volt, ohm = ask.farad.data, ask.charged_to.data, ask.bleeder.data
    expected = None
    if farad and volt and ohm and (not request.args.get("farad") or ask.validate()):
        expected = expect(farad=farad, volt=volt, ohm=ohm, limit_v=the_shop().safe_volts)
    return {"ask": ask, "expected": expected}


def _highest_volts(order: RepairOrder) -> float | None:
    """The highest direct volts that were read or are expected in this amp."""
    found = [abs(one.value) for one in measuring.readings_of(order) if one.quantity is Quantity.VOLT_DC]
    found += [abs(point.expected) for point in measuring.points_of(order)
              if point.quantity is Quantity.VOLT_DC and point.expected is not None]
    return max(found, default=None)
