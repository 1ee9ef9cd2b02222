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
from app.handover.notices import Rule, Rules, for_jurisdiction
from app.handover.rules import Waiting, earliest
from app.handover.service import uncollected as uncollected_service
from app.handover.views.common import bp, due_now, load_open_order, save_or_reshow, sheet, version_of
from app.intake.queries import sheets as sheets_queries
from app.kernel.form_fields import read_form
from app.kernel.money import digits
from app.kernel.saving import saving
from app.orders.gates import missing_in
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.shop.queries import the_shop


@bp.get("/uncollected")
@may(May.SEE)
def uncollected(order_id: int) -> str:
    """The notices, when their time is over, and what the rules say."""
    order = load_order(order_id)
    sent = queries.standing_notices(order_id)
    over = earliest([one.sent_on for one in sent], Waiting(sent[-1].wait_notices, sent[-1].wait_days)) if sent else None
    rules, rule = _rules(order)
    return render_template("handover/uncollected.html", order=order, notices=queries.notices(order_id), over=over, rules=rules,
                           rule=rule, disposal=queries.disposal(order_id),
                           missing=missing_in(order, End.UNCOLLECTED) if order.is_open else ())


@bp.route("/uncollected/notice", methods=["GET", "POST"])
@may(May.HAND_OUT)
def notice(order_id: int) -> Response | str:
    """Write a notice down as it goes out; its paper is issued from the papers of the order."""
    order = load_open_order(order_id)
    rules, rule = _rules(order)
    who = order.owner
    shop, due = the_shop(), due_now(order)
    form = read_form(NoticeForm, addressed_to=who.name, address=who.address or who.email or who.phone, sent_on=_today(),
                     ready_since=_today(), hours=", ".join(shop.address.splitlines()), due_minor=due,
                     due_for="The repair as agreed." if due else "")
    done = save_or_reshow(
        form, order, lambda: uncollected_service.send_notice(order, form.letter(), rules, rule, today=_today(), by=actor(),
                                                             now=clock.now()),
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
    form = read_form(DisposalForm, obj=record) if record else read_form(DisposalForm, kept_until=_years_on(today, 7))
    done = save_or_reshow(
        form, order, lambda: uncollected_service.dispose(order, form.fate.data, form.account.data or "",
                                                         form.law_checked.data or "", kept_until=form.kept_until.data, by=actor(),
                                                         now=clock.now()),
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
    """The shop's rules and the one for what this amp is worth, by what its owner declared."""
    shop = the_shop()
    offered, rules = sheets_queries.agreement(order.id), for_jurisdiction(shop.jurisdiction)
    declared = offered.declared_value_minor if offered else None
    return rules, rules.for_worth(None if declared is None else declared / 10 ** digits(shop.currency))


def _today() -> date:
    return clock.now().astimezone(the_shop().zone).date()


def _years_on(day: date, years: int) -> date:
    return day.replace(year=day.year + years, day=min(day.day, 28))
