"""Who left the amp, who owns it and who may approve cost."""

from __future__ import annotations

from flask import flash, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.intake.forms.records import PeopleForm
from app.intake.queries import known as known_queries
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
    """The three roles on one page; others are found by words or written down here, as many as wanted. Nothing chosen is lost."""
    order, asked = load_open_order(order_id), list[Customer]()
    form = read_form(PeopleForm, obj=order)
    form.offer(_known(order, form))
    then = request.form.get("then", "")
    if request.method == "GET":
        _as_chosen(form)
    elif then.startswith("take:") or then == "find":
        pass  # shown again with who was found, nothing saved
    elif then == "add":
        asked = _asked(form)
        if not asked and (done := _add(order, form)):
            return done
    elif done := save_or_reshow(form, order, lambda: checking_in_service.name_people(
            order, People(*(load_customer(role.data) for role in form.roles)), by=actor(), now=clock.now()), lambda: order):
        return done
    return sheet_page("people", order, form, version=version_of(order), asked=asked, people=sheets_queries.people_of(order),
                      earlier=search_queries.orders_of_customer(order.depositor_id))


def _add(order: RepairOrder, form: PeopleForm) -> Response | None:
    """Keep who is written down, and come back with everything that was chosen."""
    try:
        facts = form.facts().checked()
        if form.phone.errors or form.email.errors:
            return None
        with saving() as saved:
            who = records_service.add_customer(facts, by=actor(), now=clock.now())
            flash(f"{who.name} is recorded: choose them below.", "saved")
            chosen = {role.name: role.data for role in form.roles if role.data}
            return saved("intake.people", order_id=order.id, also=[*_also(), who.id], **chosen)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def _asked(form: PeopleForm) -> list[Customer]:
    """Customers that may be the person who is written down; the whole form is checked first."""
    form.validate()
    return [] if form.as_new.data or form.phone.errors or form.email.errors else known_queries.people_like(form.facts())


def _also() -> list[int]:
    """The ids of those who were added or found before, kept in the address and in the form."""
    given = [*request.args.getlist("also"), *request.form.getlist("also")]
    return list(dict.fromkeys(int(one) for one in given if one.isdecimal()))


def _as_chosen(form: PeopleForm) -> None:
    """What was chosen before somebody was added."""
    for role in form.roles:
        chosen = request.args.get(role.name, "")
        if chosen.isdecimal() and int(chosen) in {choice.value for choice in role.choices}:
            role.data = int(chosen)


def _known(order: RepairOrder, form: PeopleForm) -> list[Customer]:
    """The people of the order, whom a search found, who was just written down, and whoever the posted form names."""
    also = [*_also(), *(role.data for role in form.roles if role.data)]
    taken = request.form.get("then", "").removeprefix("take:")
    also += [int(taken)] if taken.isdecimal() else []
    added = [search_queries.find_customer(one) for one in also]
    typed = (form.find.data or "").strip()
    found = [match.customer for match in search_queries.matches(typed)] if typed else []
    return list({one.id: one for one in [*sheets_queries.people_of(order), *found, *added] if one is not None}.values())
