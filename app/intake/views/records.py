"""The records: search over customers, amps and orders; the page of a customer and of an amp."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.drawings import queries as drawings
from app.errors import BadInput
from app.intake.forms.records import AmpForm, CustomerForm
from app.intake.queries import search as search_queries
from app.intake.service import records as records_service
from app.intake.views.common import bp, load_amp, load_customer, version_of
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving


@bp.get("/records")
@may(May.SEE)
def records() -> str:
    typed = request.args.get("q", "").strip()
    return render_template("intake/records.html", typed=typed, found=search_queries.records(typed))


@bp.get("/customers/<int:customer_id>")
@may(May.SEE)
def customer(customer_id: int) -> str:
    who = load_customer(customer_id)
    return render_template("intake/customer.html", who=who, orders=search_queries.orders_of_customer(customer_id),
                           amps=search_queries.amps_of(customer_id), merged=search_queries.merged_into(who))


@bp.route("/customers/<int:customer_id>/edit", methods=["GET", "POST"])
@may(May.CHECK_IN)
def edit_customer(customer_id: int) -> Response | str:
    who = load_customer(customer_id)
    form = read_form(CustomerForm, obj=who)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(who, form)
                records_service.change_customer(who, form.facts(), by=actor(), now=clock.now())
                flash("Saved.", "saved")
                return saved("intake.customer", customer_id=customer_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("intake/edit_customer.html", who=who, form=form, has_errors=form.has_errors,
                           version=version_of(who))


@bp.get("/amps/<int:amp_id>")
@may(May.SEE)
def amp_record(amp_id: int) -> str:
    amp = load_amp(amp_id)
    return render_template("intake/amp_record.html", amp=amp, orders=search_queries.orders_of_amp(amp_id),
                           merged=search_queries.merged_into(amp),
                           drawings=drawings.of_model(amp.maker, amp.model))


@bp.route("/amps/<int:amp_id>/edit", methods=["GET", "POST"])
@may(May.CHECK_IN)
def edit_amp(amp_id: int) -> Response | str:
    found = load_amp(amp_id)
    form = read_form(AmpForm, obj=found)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(found, form)
                records_service.change_amp(found, form.amp_facts(), by=actor(), now=clock.now())
                flash("Saved.", "saved")
                return saved("intake.amp_record", amp_id=amp_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("intake/edit_amp.html", amp=found, form=form, has_errors=form.has_errors,
                           version=version_of(found))
