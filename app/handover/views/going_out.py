"""Handing a repaired amp out: sheet by sheet, then the door."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, GateClosed
from app.handover import queries
from app.handover.forms import OldPartsForm, ShownForm, SignForm, SumsForm, accessories_form
from app.handover.gate import must_be_finished, must_be_going_out
from app.handover.models import Settlement
from app.handover.rules import missing_items
from app.handover.service import going_out as going_out_service
from app.handover.views.common import (
    WORDS,
    again_asked,
    as_missing,
    bp,
    going_unrepaired,
    load_open_order,
    save_or_reshow,
    sheet,
    version_of,
)
from app.intake.queries import sheets as intake
from app.kernel.form_fields import read_form
from app.kernel.money import show
from app.kernel.saving import saving
from app.money import queries as money
from app.orders import authority
from app.orders.gates import missing_in, missing_to_leave
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from app.orders.warranty import who_pays
from app.parts import queries as parts
from app.quote import costs
from app.quote import queries as quotes
from app.removals.queries import to_give_back
from app.shop.queries import the_shop


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """Where the return stands: what is missing on top, every sheet in a line, and the way out."""
    order = load_order(order_id)
    lacks: dict[str, list[str]] = {}
    for lack in missing_items(queries.facts(order)):
        lacks.setdefault(lack.part, []).append(lack.text)
    here = order.stage is Stage.RETURN
    missing = (*missing_to_leave(order), *(missing_in(order, End.REPAIRED) if here else ())) if order.is_open else ()
    return render_template("handover/page.html", order=order, missing=missing, words=WORDS, lacks=lacks,
                           lines=_lines(order), ready=order.is_open and here and not missing,
                           here=here, signed=queries.signature(order_id), collectable=queries.ready_on(order) is not None,
                           unrepaired=queries.unrepaired(order_id))


@bp.route("/accessories", methods=["GET", "POST"])
@may(May.HAND_OUT)
def accessories(order_id: int) -> Response | str:
    """Each thing that came in, one by one."""
    order, things = load_open_order(order_id), queries.things(order_id)
    must_be_going_out(order)
    form = read_form(accessories_form(things))

    def check_off() -> None:
        for one, _ in things:
            going_out_service.check_off(order, one, form[f"given_{one.id}"].data, form[f"note_{one.id}"].data or "", by=actor(),
                              now=clock.now())

    return save_or_reshow(form, order, check_off) or sheet("accessories", order, form, things=things)


@bp.route("/old-parts", methods=["GET", "POST"])
@may(May.HAND_OUT)
def old_parts(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), queries.old_parts(order_id)
    must_be_going_out(order)
    listed = [one.title.replace("; ", ", ") for one in to_give_back(order)]
    form = read_form(OldPartsForm, obj=record) if record else read_form(OldPartsForm)
    form.offer(listed, record.which if record and request.method == "GET" else None)
    done = save_or_reshow(
        form, order, lambda: going_out_service.settle_old_parts(order, form.fate.data, form.named(), by=actor(), now=clock.now()),
        record=lambda: queries.old_parts(order_id))
    answer, told = quotes.authorisation(order), intake.complaint(order_id)
    return done or sheet("old_parts", order, form, version=version_of(record), listed=listed,
                         agreed=answer.quote.old_parts.value if answer else "", keep=told.keep if told else "",
                         fitted=[f"{one.what}, {one.place}" for one in parts.fitted(order)])


@bp.route("/sums", methods=["GET", "POST"])
@may(May.HAND_OUT)
def sums(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), queries.settlement(order_id)
    must_be_going_out(order)
    committed, ceiling, account = costs.committed(order), authority.ceiling(order_id), money.account(order_id)
    due = money.due(order, unrepaired=going_unrepaired(order))
    form = read_form(SumsForm, due_minor=due, on_account=record.on_account if record else "")
    done = save_or_reshow(
        form, order, lambda: going_out_service.settle(order, int(form.due_minor.data or 0), int(form.paid_minor.data or 0),
                                                      form.method.data, form.on_account.data or "", form.because.data or "",
                                                      by=actor(), now=clock.now()),
        record=lambda: queries.settlement(order_id))
    return done or sheet("sums", order, form, version=version_of(record), committed=committed, ceiling=ceiling, due=due,
                         account=account, agreed=authority.governing(order_id), pays=who_pays(order),
                         fees=money.fees_unrepaired(order) if going_unrepaired(order) else ())


@bp.route("/shown", methods=["GET", "POST"])
@may(May.HAND_OUT)
def shown(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), queries.demonstration(order_id)
    must_be_finished(order)
    form = (read_form(ShownForm, shown="yes" if record.shown else "no", said=record.said) if record else read_form(ShownForm))
    done = save_or_reshow(
        form, order, lambda: going_out_service.show_working(order, form.shown.data == "yes", form.said.data or "", by=actor(),
                                                            now=clock.now()),
        record=lambda: queries.demonstration(order_id))
    return done or sheet("shown", order, form, version=version_of(record))


@bp.route("/sign", methods=["GET", "POST"])
@may(May.HAND_OUT)
def sign(order_id: int) -> Response | str:
    """The text, and the signature under it. What is kept is the very text that was shown, and the facts it says."""
    order = load_open_order(order_id)
    must_be_finished(order)
    text, facts_sha256 = queries.text_to_sign(order), queries.fingerprint_to_sign(order)
    form = read_form(SignForm, name=order.depositor.name, facts_sha256=facts_sha256)
    done = save_or_reshow(form, order, lambda: _sign(order, form))
    form.facts_sha256.data, form.facts_sha256.raw_data = facts_sha256, None
    if done:
        return done
    facts, signed, paid = queries.facts(order), queries.signature(order_id), queries.settlement(order_id)
    before = [as_missing(order, one) for one in missing_items(facts) if one.part != "sign"]
    return sheet("sign", order, form, text=text, signed=signed, stands=facts.stands,
                 signing=not before and (not facts.stands or again_asked()), open_before=before,
                 rest=paid.open_minor if paid else 0)


def _sign(order: RepairOrder, form: SignForm) -> None:
    if form.facts_sha256.data != queries.fingerprint_to_sign(order):
        raise BadInput("Something changed since the text was shown. Read it again, then sign.", "signature")
    going_out_service.sign(order, form.signed(), by=actor(), now=clock.now())


@bp.post("/out")
@may(May.HAND_OUT)
def out(order_id: int) -> Response | tuple[str, int]:
    """The amp is gone: the order ends as repaired, past every gate."""
    order = load_open_order(order_id)
    try:
        with saving() as saved:
            going_out_service.release(order, by=actor(), now=clock.now())
            answer = saved("bench.order", order_id=order_id)
    except GateClosed as closed:
        return render_template("orders/refused.html", order=order, closed=closed), closed.status
    flash("Handed out. The order has ended.", "saved")
    return answer


def _lines(order: RepairOrder) -> dict[str, str]:
    """Each sheet in a line."""
    things, old = queries.things(order.id), queries.old_parts(order.id)
    paid, shown_, signed = queries.settlement(order.id), queries.shown_as_it_is(order), queries.signed_as_it_is(order)
    listed = [f"{back.given} of {one.quantity} × {one.what}" for one, back in things if back]
    return {"accessories": ", ".join(listed) if things else "nothing came with it",
            "old_parts": f"{old.fate.value}{f': {old.which}' if old.which else ''}" if old else "",
            "sums": _paid(paid) if paid else "",
            "shown": ("shown working" if shown_.shown else "not wanted") if shown_ else "",
            "sign": f"{signed.name}, {signed.who.value}, signed {signed.how.value}" if signed else ""}


def _paid(paid: Settlement) -> str:
    currency = the_shop().currency
    rest = f", {show(paid.open_minor, currency)} open: {paid.on_account}" if paid.open_minor else ""
    return f"due {show(paid.due_minor, currency)}, paid {show(paid.paid_minor, currency)}{rest}"
