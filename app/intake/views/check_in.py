"""Checking an amp in: find or make the customer and the amp, write the complaint, open the order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flask import flash, jsonify, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.intake.forms.records import CheckInForm
from app.intake.queries import search as search_queries
from app.intake.service import checking_in as checking_in_service
from app.intake.service import records as records_service
from app.intake.service.checking_in import CheckIn, complaint_in_words
from app.intake.views.common import bp, load_amp, load_customer, onward
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders import queries as orders
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.shop.queries import the_shop

NEW = "new"


@dataclass(frozen=True)
class Chosen:
    """What the page knows so far. `somebody_new` and `another_amp` say that they are written on this page."""

    customer: Customer | None
    amp: Amp | None
    somebody_new: bool
    another_amp: bool

    @property
    def ready(self) -> bool:
        """Whether the rest can be written: both are found or are to be made."""
        return bool((self.customer or self.somebody_new) and (self.amp or self.another_amp))

    @property
    def in_house(self) -> RepairOrder | None:
        """The open order of this amp, if it stands here already."""
        return next((one for one in search_queries.orders_of_amp(self.amp.id) if one.is_open), None) if self.amp else None


@bp.route("/check-in", methods=["GET", "POST"])
@may(May.CHECK_IN)
def new() -> Response | str:
    """One page: who, which amp, what is wrong."""
    chosen, form = _chosen(), read_form(CheckInForm)
    earlier = list(search_queries.orders_of_amp(chosen.amp.id)) if chosen.amp else []
    form.offer_repairs(earlier)
    typed = request.args.get("q", "").strip()
    if request.method == "GET":
        form.name.data = request.args.get("name", "")
    if request.method == "POST" and form.validate() and _nothing_lacks(chosen, form):
        try:
            return _open(chosen, form)
        except BadInput as wrong:
            form.add_error(wrong)
    amps = search_queries.amps_of(chosen.customer.id) if chosen.customer and not chosen.ready else []
    return render_template("intake/new.html", form=form, has_errors=form.has_errors, chosen=chosen, amps=amps,
                           earlier=earlier, typed=typed, found=_found(typed))


@bp.get("/check-in/find")
@may(May.CHECK_IN)
def find() -> Response:
    """What the list under the search field shows while one types."""
    return jsonify(_found(request.args.get("q", "")))


def _nothing_lacks(chosen: Chosen, form: CheckInForm) -> bool:
    """Whether what is new is written down well enough; everything that is not is told at once."""
    checks: list[Callable[[], object]] = [lambda: complaint_in_words(form.complaint.data or "", "complaint")]
    checks += [lambda: form.facts().checked()] if chosen.customer is None else []
    checks += [lambda: form.amp_facts().checked()] if chosen.amp is None else []
    for check in checks:
        try:
            check()
        except BadInput as wrong:
            form.add_error(wrong)
    return not form.has_errors


def _open(chosen: Chosen, form: CheckInForm) -> Response:
    with saving() as saved:
        by, now = actor(), clock.now()
        who = chosen.customer or records_service.add_customer(form.facts(), by=by, now=now)
        what = chosen.amp or records_service.add_amp(form.amp_facts(), by=by, now=now)
        first = orders.find(form.come_back_of.data) if form.come_back_of.data else None
        order = checking_in_service.check_in(CheckIn(who, what, form.complaint.data or "", first), the_shop(), by=by, now=now)
        flash(f"Repair {order.number} is open.", "saved")
        return onward(saved, order)


def _chosen() -> Chosen:
    customer, amp = request.values.get("customer", ""), request.values.get("amp", "")
    who = load_customer(int(customer)) if customer.isdecimal() else None
    what = load_amp(int(amp)) if amp.isdecimal() and who else None
    somebody_new = customer == NEW
    return Chosen(who, what, somebody_new, what is None and (somebody_new or amp == NEW))


def _found(typed: str) -> list[dict[str, object]]:
    return [{"name": match.customer.name, "reach": match.customer.reach,
             "another": url_for("intake.new", customer=match.customer.id, amp=NEW),
             "amps": [{"words": f"{amp.title} {amp.serial}".strip(),
                       "url": url_for("intake.new", customer=match.customer.id, amp=amp.id)} for amp in match.amps]}
            for match in search_queries.matches(typed)]
