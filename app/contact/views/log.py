"""The contact log: of a customer, a new entry, and striking one out."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.contact import queries
from app.contact.forms import ContactForm, StrikeForm
from app.contact.service import log as service
from app.contact.spec import ContactFacts
from app.contact.views.common import about, bp, load_customer
from app.errors import NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow
from app.kernel.spec_forms import read_facts


@bp.get("/customers/<int:customer_id>")
@may(May.SEE)
def customer(customer_id: int) -> str:
    """Everything that was said to one customer."""
    who = load_customer(customer_id)
    return render_template("contact/customer.html", who=who, entries=queries.of_customer(who.id))


@bp.route("/new", methods=["GET", "POST"])
@may(May.CHECK_IN)
def new() -> Response | str:
    """Write a contact down, with the person and number already there."""
    who, order = about(May.CHECK_IN)
    form = read_form(ContactForm, reached_at=who.phone or who.email)

    def keep(saved: Saved) -> Response:
        service.record_contact(who, order, read_facts(form, ContactFacts), by=actor(), now=clock.now())
        flash("The contact is recorded.", "saved")
        return saved("bench.order", order_id=order.id) if order else saved("contact.customer", customer_id=who.id)

    before = queries.of_order(order.id) if order else queries.of_customer(who.id)
    return save_or_reshow(form, keep) or render_template("contact/new.html", form=form, who=who, order=order, before=before[:3],
                                                         has_errors=form.has_errors)


@bp.route("/<int:entry_id>/strike", methods=["GET", "POST"])
@may(May.CHECK_IN)
def strike(entry_id: int) -> Response | str:
    """Strike out a wrong entry."""
    entry = queries.find_entry(entry_id)
    if entry is None:
        raise NotFound("There is no such entry.")
    form = read_form(StrikeForm)

    def keep(saved: Saved) -> Response:
        service.strike_contact(entry, form.reason.data or "", by=actor(), now=clock.now())
        flash("The entry is struck out.", "saved")
        return saved("contact.customer", customer_id=entry.customer_id)

    return save_or_reshow(form, keep) or render_template("contact/strike.html", form=form, entry=entry, has_errors=form.has_errors)
