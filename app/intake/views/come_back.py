"""A come-back beside the repair it comes back after: the complaint, what was measured as it left, warranty, and the verdict."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.intake.forms.come_back import VerdictForm
from app.intake.queries import come_back as come_back_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.service import come_back as come_back_service
from app.intake.views.common import bp
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders.loading import load_order
from app.orders.service import must_be_open


@bp.route("/orders/<int:order_id>/intake/come-back", methods=["GET", "POST"])
@may(May.SEE)
def come_back(order_id: int) -> Response | str:
    """What stands beside the complaint, and the verdict with its reasoning."""
    order = load_order(order_id)
    if order.come_back_of is None:
        raise NotFound("This repair is not a come-back.")
    form = read_form(VerdictForm)
    if request.method == "POST":
        allow(May.WORK)
        must_be_open(order)
        if form.validate():
            try:
                with saving() as saved:
                    come_back_service.judge(order, form.judgement(), by=actor(), now=clock.now())
                    flash("The verdict is saved.", "saved")
                    return saved("intake.come_back", order_id=order_id)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("intake/come_back.html", order=order, form=form, has_errors=form.has_errors,
                           complaint=sheets_queries.complaint(order_id), verdicts=come_back_queries.verdicts(order_id),
                           offered=sheets_queries.agreement(order_id))
