"""What the customer answered, and what they declined in writing."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound, RuleBroken
from app.findings.queries import find_finding
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.money import show
from app.kernel.saving import Saved, save_or_reshow, saving
from app.orders import authority
from app.orders.models import RepairOrder
from app.quote import costs, queries
from app.quote.forms import AnswerForm, CeilingForm, DeclinedForm, answer_form
from app.quote.models import IssuedLine, Quote
from app.quote.rules.words import asked
from app.quote.service import answers as answers_service
from app.quote.service import ceiling as ceiling_service
from app.quote.service import declined as declined_service
from app.quote.views import stale_answers
from app.quote.views.common import bp, load_open_order
from app.shop.queries import the_shop


@bp.route("/answer", methods=["GET", "POST"])
@may(May.AUTHORISE)
def answer(order_id: int) -> Response | str:
    """Each line agreed or declined, by whom, how and when, and the sum that may not be passed."""
    order = load_open_order(order_id, May.AUTHORISE)
    quote = queries.current(order)
    if quote is None:
        raise RuleBroken("There is no quote to answer yet. Issue it first.")
    lines = [line for line in quote.lines if asked(line.group)]
    stale = request.method == "POST" and not stale_answers.read_from(quote, request.form)
    form = _form(order, quote, lines, stale_answers.carried_over(order, lines, request.form) if stale else None)
    if stale:
        stale_answers.say(form, order, quote, lines, request.form)
    elif request.method == "POST" and form.validate() and not _limit_asked_back(form, quote, lines):
        try:
            with saving() as saved:
                answers_service.authorise(order, quote, form.answer(lines, the_shop().zone), by=actor(), now=clock.now())
                flash("The answer is recorded.", "saved")
                waiting = queries.to_acknowledge(order)
                if waiting:
                    return saved("quote.declined", order_id=order_id, line_id=waiting[0].id)
                return saved("quote.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("quote/answer.html", order=order, quote=quote, lines=lines, form=form,
                           out_of_date=queries.out_of_date(order), has_errors=form.has_errors)


@bp.route("/limit", methods=["GET", "POST"])
@may(May.AUTHORISE)
def limit(order_id: int) -> Response | str:
    """A higher cost limit by itself; every consent of the order stands below."""
    order = load_open_order(order_id, May.AUTHORISE)
    here = clock.now().astimezone(the_shop().zone)
    form = read_form(CeilingForm, agreed_on=here.date(), agreed_at=here.time(),
                     reached_at=order.authority.phone or order.authority.email)

    def act(saved: Saved) -> Response:
        ceiling_service.raise_ceiling(order, form.raised(the_shop().zone), by=actor(), now=clock.now())
        flash("The new limit is recorded.", "saved")
        return saved("quote.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "quote/limit.html", order=order, form=form, ledger=authority.ledger(order_id), governing=authority.governing(order_id),
        cost=costs.standing(order), has_errors=form.has_errors)


@bp.route("/declined/<int:line_id>", methods=["GET", "POST"])
@may(May.AUTHORISE)
def declined(order_id: int, line_id: int) -> Response | str:
    """The customer's word under what declining a line of safety means."""
    order = load_open_order(order_id, May.AUTHORISE)
    line = queries.find_issued_line(line_id)
    if line is None or line.quote.order_id != order_id:
        raise NotFound("There is no such line on this quote.")
    finding = find_finding(line.finding_id) if line.finding_id else None
    form = read_form(DeclinedForm, hazard=finding.hazard if finding else "", signer_name=order.authority.name,
                     advice=f"We advise to have this done before the amp is used again: {line.what}. "
                            "Normal use as it is now is not advised.")
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                declined_service.acknowledge(order, line, form.paper(), by=actor(), now=clock.now())
                flash("Written down.", "saved")
                waiting = queries.to_acknowledge(order)
                if waiting:
                    return saved("quote.declined", order_id=order_id, line_id=waiting[0].id)
                return saved("quote.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("quote/declined.html", order=order, line=line, finding=finding, form=form,
                           waits=line.line_id in {one.line_id for one in queries.to_acknowledge(order)},
                           has_errors=form.has_errors)


def _limit_asked_back(form: AnswerForm, quote: Quote, lines: list[IssuedLine]) -> bool:
    """Whether the limit is still that of the whole quote though some of it is declined: said once, with what is agreed to."""
    declined = [line.what for line in lines if form[f"line_{line.id}"].data != "agreed" and not line.declined_before]
    comes_to = costs.would_come_to(quote, [line.id for line in lines if form[f"line_{line.id}"].data == "agreed"])
    if not declined or form.ceiling_minor.data != quote.at_most_minor or form.told_minor.data == str(comes_to):
        return False
    what = f"“{declined[0]}” is" if len(declined) == 1 else f"{counted(len(declined), 'item')} are"
    form.ceiling_minor.data, form.ceiling_minor.raw_data = comes_to, None  # shown instead of what was posted
    form.told_minor.data = str(comes_to)
    form.add_error(BadInput(f"{what} declined: what is agreed comes to {show(comes_to, quote.currency)}, not to "
                            f"{show(quote.at_most_minor, quote.currency)}. The limit now says so. Save again if this is the sum "
                            "they agreed to, or enter theirs.", "ceiling_minor"))
    return True


def _form(order: RepairOrder, quote: Quote, lines: list[IssuedLine], carried: MultiDict[str, str] | None) -> AnswerForm:
    """The form, with the moment it is opened, and what was answered before to lines that have not changed.

    `carried`: what was posted from a page that has gone stale.
    """
    if carried is not None:
        return answer_form(lines, quote.currency)(carried)
    here = clock.now().astimezone(the_shop().zone)
    before = queries.authorisation(order)
    said = {decision.line.line_id: "agreed" if decision.agreed else "declined" for decision in before.decisions} if before else {}
    known = {f"line_{line.id}": said.get(line.line_id) for line in lines}
    return read_form(answer_form(lines, quote.currency), agreed_on=here.date(), agreed_at=here.time(),
                     reached_at=order.authority.phone or order.authority.email, ceiling_minor=quote.at_most_minor, **known)
