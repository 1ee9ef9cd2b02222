"""Who left the amp, who owns it and who may approve cost."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.intake.forms.records import CustomerForm, PeopleForm
from app.intake.queries import search as search_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.service import checking_in as checking_in_service
from app.intake.service import records as records_service
from app.intake.service.checking_in import People
from app.intake.views.common import bp, load_customer, load_open_order, save_or_reshow, sheet_page, version_of
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders.models import RepairOrder
from app.records.models import Customer


@bp.route("/orders/<int:order_id>/intake/people", methods=["GET", "POST"])
@may(May.CHECK_IN)
def people(order_id: int) -> Response | str:
    """The three roles; others than the depositor are found by words or written down first."""
    order, typed = load_open_order(order_id), request.args.get("q", "").strip()
    form = read_form(PeopleForm, obj=order)
    form.offer(_known(order, typed, form))
    done = save_or_reshow(form, order, lambda: checking_in_service.name_people(
        order, People(load_customer(form.depositor_id.data), load_customer(form.owner_id.data),
                      load_customer(form.authority_id.data)), by=actor(), now=clock.now()), lambda: order)
    return done or sheet_page("people", order, form, version=version_of(order), typed=typed,
                              people=sheets_queries.people_of(order), earlier=search_queries.orders_of_customer(order.depositor_id))


@bp.route("/orders/<int:order_id>/intake/people/new", methods=["GET", "POST"])
@may(May.CHECK_IN)
def add_person(order_id: int) -> Response | str:
    """Somebody who is not known yet: written down, then chosen on the sheet."""
    order, form = load_open_order(order_id), read_form(CustomerForm)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                who = records_service.add_customer(form.facts(), by=actor(), now=clock.now())
                flash(f"{who.name} is recorded: choose them below.", "saved")
                return saved("intake.people", order_id=order_id, also=who.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("intake/add_person.html", order=order, form=form, has_errors=form.has_errors)


def _known(order: RepairOrder, typed: str, form: PeopleForm) -> list[Customer]:
    """The people of the order, whom a search found, who was just written down, and whoever the posted form names."""
    also = [request.args.get("also", "")]
    also += [request.form.get(field.name, "") for field in form] if request.method == "POST" else []
    added = [search_queries.find_customer(int(one)) for one in also if one.isdecimal()]
    found = [match.customer for match in search_queries.matches(typed)]
    return list(dict.fromkeys([*sheets_queries.people_of(order), *found, *(one for one in added if one is not None)]))
