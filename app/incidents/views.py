"""The list of incidents, one of them, what was told about it, and its paper."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may, person
from app.access.rules import May
from app.db import session
from app.errors import BadInput, NotFound
from app.incidents import duties, queries, service
from app.incidents.forms import EntryForm, IncidentForm
from app.incidents.models import Incident
from app.incidents.rules import Told, overdue
from app.incidents.service import About
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.records.models import Amp, Customer
from app.shop.queries import the_shop

bp = Blueprint("incidents", __name__, url_prefix="/incidents")


@bp.get("")
@may(May.SEE)
def page() -> str:
    """All of them, newest first."""
    found, now = queries.incidents(), clock.now()
    return render_template("incidents/page.html", incidents=found,
                           late={one.id for one in found if overdue(one.due_at, one.settled, now)},
                           duty=duties.for_jurisdiction(the_shop().jurisdiction))


@bp.route("/new", methods=["GET", "POST"])
@may(May.CHECK_IN)
def new() -> Response | str:
    """Write one down."""
    zone = the_shop().zone
    local = clock.now().astimezone(zone)
    form = read_form(IncidentForm, order=request.args.get("order", type=int), learned_on=local.date(),
                     learned_at=local.time().replace(second=0, microsecond=0), happened_on=local.date())
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = service.record_incident(form.happened(zone), _about(form), by=actor(), now=clock.now())
                session().flush()
                flash(f"Incident {made.id} is recorded.", "saved")
                return saved("incidents.one", incident_id=made.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("incidents/new.html", form=form, duty=duties.for_jurisdiction(the_shop().jurisdiction),
                           has_errors=form.has_errors)


@bp.get("/<int:incident_id>")
@may(May.SEE)
def one(incident_id: int) -> str:
    """One incident, and what was told about it."""
    found = _load(incident_id)
    return render_template("incidents/one.html", incident=found, late=overdue(found.due_at, found.settled, clock.now()))


@bp.route("/<int:incident_id>/told", methods=["GET", "POST"])
@may(May.CHECK_IN)
def told(incident_id: int) -> Response | str:
    """What was told to whom, that it was reported or need not be, or a correction."""
    found, zone = _load(incident_id), the_shop().zone
    local = clock.now().astimezone(zone)
    asked = request.args.get("kind", "")
    form = read_form(EntryForm, kind=Told(asked) if asked in set(Told) else Told.TOLD, told_on=local.date(),
                     told_at=local.time().replace(second=0, microsecond=0),
                     whom=found.duty_to if asked == Told.REPORTED.value else "")
    form.offer(owner=person().may(May.SETTINGS))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                service.add_entry(found, form.said(zone), by=actor(), now=clock.now())
                flash("Written down.", "saved")
                return saved("incidents.one", incident_id=incident_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("incidents/told.html", incident=found, form=form, has_errors=form.has_errors)


@bp.get("/<int:incident_id>/paper")
@may(May.SEE)
def paper(incident_id: int) -> str:
    """The record on one sheet, to print from the browser."""
    return render_template("incidents/paper.html", incident=_load(incident_id), now=clock.now())


def _load(incident_id: int) -> Incident:
    found = queries.find(incident_id)
    if found is None:
        raise NotFound("There is no incident at this address.")
    return found


def _about(form: IncidentForm) -> About:
    """The order with the number that was typed; else the customer and the amp that the address names."""
    if form.order.data is not None:
        order = queries.order_with_number(form.order.data)
        if order is None:
            raise BadInput("There is no repair with this number.", "order")
        return About(order)
    customer, amp = request.args.get("customer", type=int), request.args.get("amp", type=int)
    return About(None, session().get(Customer, customer) if customer else None, session().get(Amp, amp) if amp else None)
