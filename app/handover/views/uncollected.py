"""Nobody comes for it: notices, and what a person then decides."""

from __future__ import annotations

from datetime import date

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import GateClosed, NotFound
from app.handover import queries
from app.handover.forms import DisposalForm, NoticeForm, ReasonForm
from app.handover.gate import notices_to_wait_for
from app.handover.notices import Rule, Rules, for_jurisdiction
from app.handover.rules import Fate, Recipient, earliest, months_on, still_to_get_one
from app.handover.service import uncollected as uncollected_service
from app.handover.views.common import bp, due_now, load_open_order, save_or_reshow, sheet, version_of
from app.kernel.form_fields import read_form
from app.kernel.money import digits
from app.kernel.saving import saving
from app.orders.gates import missing_in
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.shop.queries import the_shop

USUAL_MONTHS = 84  # the shop's own rule where the law of the place names no time


@bp.get("/uncollected")
@may(May.SEE)
def uncollected(order_id: int) -> str:
    """The notices, when their time is over, and what the rules say."""
    order = load_order(order_id)
    sent = queries.counting_notices(order)
    over = earliest([one.given for one in sent], sent[-1].waiting) if sent else None
    rules, rule = _rules(order)
    missing = missing_in(order, End.UNCOLLECTED) if order.is_open else ()
    return render_template("handover/uncollected.html", order=order, ready=queries.ready_on(order), over=over, rules=rules,
                           rule=rule, notices=queries.notices(order_id), disposal=queries.disposal(order_id), missing=missing)



@bp.route("/uncollected/notice", methods=["GET", "POST"])
@may(May.HAND_OUT)
def notice(order_id: int) -> Response | str:
    """Write a notice down as it goes out; its paper is issued from the papers of the order."""
    order = load_open_order(order_id)
    if queries.ready_on(order) is None:
        raise GateClosed("There is nothing to collect yet.", tuple(notices_to_wait_for(order, _today())))
    rules, rule = _rules(order)
    wanted = _next_recipient(order, rule)
    who = order.owner if wanted is Recipient.OWNER else order.depositor
    shop, due = the_shop(), due_now(order)
    form = read_form(NoticeForm, recipient=wanted, addressed_to=who.name,
                     address=who.address or who.email or who.phone, sent_on=_today(),
                     ready_since=queries.ready_on(order), hours=", ".join(shop.address.splitlines()), due_minor=due,
                     due_for="The repair as agreed." if due else "")
    done = save_or_reshow(form, order, lambda: uncollected_service.send_notice(order, form.letter(), rules, _rule_for(rules, form),
                                                                     today=_today(), by=actor(), now=clock.now()),
                then="handover.uncollected")
    return done or sheet("notice", order, form, rules=rules, rule=rule)


@bp.route("/uncollected/notice/<int:notice_id>/strike", methods=["GET", "POST"])
@may(May.HAND_OUT)
def strike_notice(order_id: int, notice_id: int) -> Response | str:
    order, found = load_open_order(order_id), queries.find_notice(notice_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such notice.")
    form = read_form(ReasonForm)
    done = save_or_reshow(
        form, order, lambda: uncollected_service.strike_notice(found, form.reason.data or "", by=actor(), now=clock.now()),
        then="handover.uncollected")
    return done or sheet("strike_notice", order, form, notice=found)


@bp.route("/uncollected/what-became", methods=["GET", "POST"])
@may(May.HAND_OUT)
def disposal(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), queries.disposal(order_id)
    today = _today()
    form = read_form(DisposalForm, obj=record) if record else \
        read_form(DisposalForm, kept_until=months_on(today, _keep_months(order_id)))
    sent = queries.standing_notices(order_id)
    form.offer(sent[-1].allowed if sent else tuple(Fate))
    done = save_or_reshow(form, order, lambda: uncollected_service.dispose(order, form.fate.data, form.account.data or "",
                                                                 form.law_checked.data or "",
                                                     kept_until=form.kept_until.data, by=actor(), now=clock.now()),
                record=lambda: queries.disposal(order_id), then="handover.uncollected")
    return done or sheet("disposal", order, form, version=version_of(record), rules=_rules(order)[0])


@bp.post("/uncollected/end")
@may(May.HAND_OUT)
def end_uncollected(order_id: int) -> Response | tuple[str, int]:
    """The order ends as uncollected, once its gate is open."""
    order = load_open_order(order_id)
    try:
        with saving() as saved:
            uncollected_service.end_uncollected(order, by=actor(), now=clock.now())
            answer = saved("bench.order", order_id=order_id)
    except GateClosed as closed:
        return render_template("orders/refused.html", order=order, closed=closed), closed.status
    flash("The order has ended as uncollected.", "saved")
    return answer


def _rules(order: RepairOrder) -> tuple[Rules, Rule]:
    """The shop's rules and the one for what this amp is worth: by the last notice's price of a like thing, never by what its owner
    had it insured for. Without one the strictest.
    """
    rules = for_jurisdiction(the_shop().jurisdiction)
    priced = [one.worth_minor for one in queries.standing_notices(order.id) if one.worth_minor is not None]
    return rules, rules.for_worth(_whole(priced[-1]) if priced else None)


def _rule_for(rules: Rules, form: NoticeForm) -> Rule:
    """The rule for the price that was entered with this notice."""
    return rules.for_worth(None if form.worth_minor.data is None else _whole(int(form.worth_minor.data)))


def _whole(minor: int) -> float:
    return float(minor / 10 ** digits(the_shop().currency))


def _next_recipient(order: RepairOrder, rule: Rule) -> Recipient:
    """Who is to get the next notice: whoever the rule names and has none yet; else whoever left the amp."""
    sent = queries.standing_notices(order.id)
    waiting = sent[-1].waiting if sent else rule.waiting
    return still_to_get_one([one.given for one in sent], waiting) or (waiting.to[0] if waiting.to else Recipient.DEPOSITOR)


def _keep_months(order_id: int) -> int:
    """How long the record is kept: as the rule says; seven years where it names no time."""
    sent = queries.standing_notices(order_id)
    return sent[-1].keep_months if sent and sent[-1].keep_months else USUAL_MONTHS


def _today() -> date:
    return clock.now().astimezone(the_shop().zone).date()

