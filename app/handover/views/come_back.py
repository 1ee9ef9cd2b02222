"""The amp is in again: a new order that names the old one."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.findings.queries import declined
from app.handover import queries
from app.handover.forms import ComeBackForm
from app.handover.service import come_back as come_back_service
from app.handover.views.common import bp
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.measuring.queries import as_found_as_left
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.shop.queries import the_shop


@bp.route("/come-back", methods=["GET", "POST"])
@may(May.CHECK_IN)
def come_back(order_id: int) -> Response | str:
    """What was measured as it left, what was declined, and the new complaint."""
    before = load_order(order_id, May.CHECK_IN)
    come_back_service.must_have_left(before)
    form = read_form(ComeBackForm)
    if request.method == "POST" and form.validate() and (done := _open(before, form)):
        return done
    left = [row for row in as_found_as_left(before) if row.as_left]
    days = (clock.now() - before.ended_at).days if before.ended_at else 0
    return render_template("handover/come_back.html", order=before, form=form, has_errors=form.has_errors, left=left,
                           declined=declined(before), days=days, later=queries.come_backs(order_id))


def _open(before: RepairOrder, form: ComeBackForm) -> Response | None:
    try:
        with saving() as saved:
            order = come_back_service.come_back(before, form.complaint.data or "", form.under_warranty, the_shop(), by=actor(),
                                      now=clock.now())
            flash(f"Repair {order.number} is open.", "saved")
            return saved("intake.page", order_id=order.id)
    except BadInput as wrong:
        form.add_error(wrong)
        return None
