"""Checking an amp in: find or make the people and the amp, write the complaint, open the order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flask import flash, jsonify, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.intake.forms.records import OWNER, SAME, WRITTEN, CheckInForm
from app.intake.queries import known as known_queries
from app.intake.queries import search as search_queries
from app.intake.service import checking_in as checking_in_service
from app.intake.service import records as records_service
from app.intake.service.checking_in import CheckIn, complaint_in_words
from app.intake.views import asked_back
from app.intake.views.common import bp, load_amp, load_customer, onward
from app.journal.service import Actor
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.orders import queries as orders
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.records.spec import AmpFacts, CustomerFacts
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
    """One page: who, which amp, whose it is, what is wrong."""
    form, asked = read_form(CheckInForm), tuple[asked_back.Offer, ...]()
    take = request.form.get("take", "") if request.method == "POST" else ""
    chosen = _chosen(take)
    earlier = list(search_queries.orders_of_amp(chosen.amp.id)) if chosen.amp else []
    _offer(form, chosen, earlier)
    if request.method == "GET":
        form.name.data = request.args.get("name", "")
        _as_last_time(form, chosen, earlier)
    elif take:
        asked_back.take(form, take, chosen.customer)
    elif all([form.validate(), _nothing_lacks(chosen, form)]):  # both, so that all that is wrong is told at once
        asked = () if form.as_new.data else asked_back.offers(_written(chosen, form), None if chosen.amp else form.amp_facts())
        if not asked:
            try:
                return _open(chosen, form)
            except BadInput as wrong:
                form.add_error(wrong)
    typed = request.args.get("q", "").strip()
    amps = search_queries.amps_of(chosen.customer.id) if chosen.customer and not chosen.ready else []
    return render_template("intake/new.html", form=form, has_errors=form.has_errors, chosen=chosen, amps=amps, asked=asked,
                           earlier=earlier, typed=typed, found=_found(typed, chosen.amp))


@bp.get("/check-in/find")
@may(May.CHECK_IN)
def find() -> Response:
    """What the list under the search field shows while one types."""
    amp = request.args.get("amp", "")
    return jsonify(_found(request.args.get("q", ""), load_amp(int(amp)) if amp.isdecimal() else None))


@bp.get("/check-in/known")
@may(May.CHECK_IN)
def known() -> Response:
    """Whom and what the shop knows by what stands in the form so far."""
    said = request.args.get
    written = {"depositor": CustomerFacts(said("name", ""), said("phone", ""), said("email", "")),
               **{role: CustomerFacts(*(said(f"{role}_{part}", "") for part in ("name", "phone", "email")))
                  for role in ("owner", "approver")}}
    amp = AmpFacts(said("maker", ""), said("model", ""), said("serial", "")) if said("serial") else None
    found = asked_back.offers({role: facts for role, facts in written.items() if facts != CustomerFacts("")}, amp)
    return jsonify([{"words": one.words, "button": one.button, "take": one.take, "url": one.url} for one in found])


def _offer(form: CheckInForm, chosen: Chosen, earlier: list[RepairOrder]) -> None:
    """The repairs that it may come back after, and the people who may own it; whoever was taken before among them."""
    form.offer_repairs(earlier, clock.now())
    named = [request.form.get(f"{role}_is", "") for role in ("owner", "approver")]
    take = request.form.get("take", "").partition(":")[2]
    ids = [one.removeprefix("c") for one in named if one.startswith("c")] + [take]
    more = [search_queries.find_customer(int(one)) for one in ids if one.isdecimal()]
    form.offer_people(known_queries.people_with([chosen.amp] if chosen.amp else [], *more))


def _as_last_time(form: CheckInForm, chosen: Chosen, earlier: list[RepairOrder]) -> None:
    """Owner and approver as they were when the same person brought the same amp; asked of anybody else."""
    last = earlier[0] if earlier else None
    if last is None:
        return
    if chosen.customer is None or last.depositor_id != chosen.customer.id:
        form.owner_is.data = f"c{last.owner_id}" if chosen.customer is None or last.owner_id != chosen.customer.id else SAME
        form.approver_is.data = OWNER if form.owner_is.data != SAME else SAME
        return
    form.owner_is.data = SAME if last.owner_id == last.depositor_id else f"c{last.owner_id}"
    form.approver_is.data = (SAME if last.authority_id == last.depositor_id else OWNER if last.authority_id == last.owner_id
                             else f"c{last.authority_id}")


def _written(chosen: Chosen, form: CheckInForm) -> dict[str, CustomerFacts]:
    """Who is written on the page as new, by role."""
    roles = {role: form.written(role) for role in ("owner", "approver") if form.of(role) == WRITTEN}
    return roles if chosen.customer else {"depositor": form.facts(), **roles}


def _nothing_lacks(chosen: Chosen, form: CheckInForm) -> bool:
    """Whether what is new is written down well enough; everything that is not is told at once."""
    checks: list[tuple[str, Callable[[], object]]] = [
        ("", lambda: complaint_in_words(form.complaint.data or "", "complaint"))]
    checks += [("", lambda: form.facts().checked())] if chosen.customer is None else []
    checks += [("", lambda: form.amp_facts().checked())] if chosen.amp is None else []
    checks += [(f"{role}_", lambda role=role: form.written(role).checked())  # type: ignore[misc]
               for role in ("owner", "approver") if form.of(role) == WRITTEN]
    for before, check in checks:
        try:
            check()
        except BadInput as wrong:
            form.add_error(BadInput(wrong.words, f"{before}{wrong.field}" if before else wrong.field))
    return not form.has_errors


def _open(chosen: Chosen, form: CheckInForm) -> Response:
    with saving() as saved:
        by, now = actor(), clock.now()
        who = chosen.customer or records_service.add_customer(form.facts(), by=by, now=now)
        if chosen.customer is not None and (also := (form.also_reached.data or "").strip()):
            records_service.note_also(who, also, by=by, now=now)
        owner = _person(form, "owner", who, who, by)
        approver = _person(form, "approver", who, owner, by)
        what = chosen.amp or records_service.add_amp(form.amp_facts(), by=by, now=now)
        first = orders.find(form.come_back_of.data) if form.come_back_of.data else None
        order = checking_in_service.check_in(CheckIn(who, what, form.complaint.data or "", first, owner, approver), the_shop(),
                                             by=by, now=now)
        flash(f"Repair {order.number} is open.", "saved")
        return onward(saved, order)


def _person(form: CheckInForm, role: str, depositor: Customer, owner: Customer, by: Actor) -> Customer:
    """Who has this role: who leaves it, the owner, somebody known, or somebody new."""
    chosen = form.of(role)
    if chosen == WRITTEN:
        return records_service.add_customer(form.written(role), by=by, now=clock.now())
    if chosen == OWNER:
        return owner
    return depositor if chosen == SAME else load_customer(int(chosen.removeprefix("c")))


def _chosen(take: str = "") -> Chosen:
    """Who and which amp, as the address or the form says; what was just taken from what was offered counts first."""
    role, _, key = take.partition(":")
    customer = key if role == "depositor" else request.values.get("customer", "")
    amp = key if role == "amp" else request.values.get("amp", "")
    who = load_customer(int(customer)) if customer.isdecimal() else None
    what = load_amp(int(amp)) if amp.isdecimal() else None
    somebody_new = customer == NEW
    return Chosen(who, what, somebody_new, what is None and (somebody_new or amp == NEW))


def _found(typed: str, amp: Amp | None = None) -> list[dict[str, object]]:
    """Who is known by these words, each with a way on; `amp`: the one that somebody is looked for."""
    if amp is not None:
        return [{"name": match.customer.name, "reach": match.customer.reach, "another": "", "amps": [
            {"words": f"Brings the {amp.title}", "url": url_for("intake.new", customer=match.customer.id, amp=amp.id)}]}
            for match in search_queries.matches(typed)]
    return [{"name": match.customer.name, "reach": match.customer.reach,
             "another": url_for("intake.new", customer=match.customer.id, amp=NEW),
             "amps": [{"words": f"{amp.title} {amp.serial}".strip(),
                       "url": url_for("intake.new", customer=match.customer.id, amp=amp.id)} for amp in match.amps]}
            for match in search_queries.matches(typed)]


