"""What the diagnosis may cost, and the terms with their signature."""

from __future__ import annotations

import hashlib

from flask import flash, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.intake import after_signing
from app.intake.forms.sheets import AgreeForm, OfferForm, ReasonForm, TermsForm
from app.intake.models import Agreement, HowSigned
from app.intake.queries import sheets as sheets_queries
from app.intake.queries.left import what_was_left
from app.intake.queries.terms import in_force
from app.intake.rules import missing_items
from app.intake.service import sheets as sheets_service
from app.intake.service import signing as signing_service
from app.intake.service.signing import Signed
from app.intake.terms import text_to_sign
from app.intake.views.common import bp, load_customer, load_open_order, reason_page, save_or_reshow, sheet_page, version_of
from app.kernel.form_fields import read_form
from app.kernel.money import show
from app.kernel.saving import saving
from app.orders import authority
from app.orders.models import RepairOrder
from app.shop.queries import day, locale, the_shop


@bp.route("/orders/<int:order_id>/intake/money", methods=["GET", "POST"])
@may(May.CHECK_IN)
def money(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), _agreement(order_id)
    form = read_form(OfferForm, obj=record)
    done = save_or_reshow(form, order, lambda: sheets_service.offer(order, form.offer(), by=actor(), now=clock.now()),
                          lambda: _agreement(order_id))
    return done or sheet_page("money", order, form, version=version_of(record), ledger=authority.ledger(order_id))


@bp.route("/orders/<int:order_id>/intake/money/agreed", methods=["GET", "POST"])
@may(May.AUTHORISE)
def agree(order_id: int) -> Response | str:
    """The person who may approve cost was not there to sign: how they agreed."""
    order, record = load_open_order(order_id), _agreement(order_id)
    form = read_form(AgreeForm)
    if request.method == "GET":
        form.reached_at.data = order.authority.phone or order.authority.email
    done = save_or_reshow(form, order, lambda: signing_service.agree_diagnosis(
        order, record, form.channel.data, form.reached_at.data or "", by=actor(), now=clock.now()))
    return done or sheet_page("agree", order, form, agreement=record, title="Agreed without a signature")


@bp.route("/orders/<int:order_id>/intake/money/<int:entry_id>/withdraw", methods=["GET", "POST"])
@may(May.AUTHORISE)
def withdraw(order_id: int, entry_id: int) -> Response | str:
    """An agreement that was written down wrongly."""
    order, form = load_open_order(order_id), read_form(ReasonForm)
    entry = next((one for one in authority.ledger(order_id) if one.id == entry_id), None)
    if entry is None:
        raise NotFound("There is no such agreement on this order.")
    done = save_or_reshow(form, order, lambda: authority.withdraw(entry, form.reason.data or "", by=actor(), now=clock.now()))
    return done or reason_page(order, form, title="This does not count",
                               words=f"{entry.what_for}: {entry.agreed_by}, {entry.channel.value}",
                               button="Withdraw the approval", back="intake.money")


@bp.route("/orders/<int:order_id>/intake/terms", methods=["GET", "POST"])
@may(May.CHECK_IN)
def terms(order_id: int) -> Response | str:
    """The text, and the signature under it. What is kept is the very text that was shown."""
    order, record = load_open_order(order_id), _agreement(order_id)
    text = _text(order, record)
    fingerprint = hashlib.sha256(text.encode()).hexdigest()
    form = read_form(TermsForm, signer_id=order.depositor_id, text_sha256=fingerprint)
    form.offer(sheets_queries.people_of(order))
    if request.method == "POST" and form.validate() and (done := _save_signature(order, form)):
        return done
    form.text_sha256.data = fingerprint
    form.text_sha256.raw_data = None
    signed = sheets_queries.acceptances(order_id)
    signing = not signed or request.method == "POST" or "again" in request.args or bool(_why_again(order))
    return sheet_page("terms", order, form, text=text, terms=in_force(the_shop().jurisdiction),
                      signed=signed, signing=signing, photos=sheets_queries.condition_photos(order_id))


def _save_signature(order: RepairOrder, form: TermsForm) -> Response | None:
    """Keep the signature; then the receipt issues itself, and is the next thing to give. None if the page is shown again."""
    order_id = order.id
    try:
        with saving() as saved:
            _sign(order, form)
            flash("Saved.", "saved")
            answer = saved("documents.receipt", order_id=order_id)
    except BadInput as wrong:
        form.add_error(wrong)
        return None
    if why_not := after_signing.issue_receipt(order_id, actor(), clock.now()):
        flash(why_not, "refused")
    return answer


def _sign(order: RepairOrder, form: TermsForm) -> None:
    record = _agreement(order.id)
    text = _text(order, record)
    if form.text_sha256.data != hashlib.sha256(text.encode()).hexdigest():
        raise BadInput("The text has changed since it was shown. Read it again, then sign.", "signature")
    why = _why_again(order) or (form.why.data or "").strip()
    if not why and sheets_queries.acceptance(order.id):
        raise BadInput("They are signed already. Enter why they are signed again.", "why")
    typed = (form.typed.data or "").strip()
    how = (HowSigned.PAPER if form.on_paper.data else HowSigned.TYPED if typed and not form.signature.data
           else HowSigned.SCREEN)
    signing_service.accept(order, Signed(load_customer(form.signer_id.data), how, form.signature.data or "", typed),
                   in_force(the_shop().jurisdiction), text, agreement=record, why=why, by=actor(),
                   now=clock.now())


def _why_again(order: RepairOrder) -> str:
    """Why the newest signature does not do any more, as the counter is told it; empty while it does or before the first."""
    lack = next((one.text for one in missing_items(sheets_queries.facts(order)) if one.part == "terms"), "")
    return lack if sheets_queries.acceptance(order.id) else ""


def _text(order: RepairOrder, offered: Agreement) -> str:
    shop = the_shop()
    return text_to_sign(in_force(shop.jurisdiction), shop=shop.name, left=what_was_left(order),
                        declining=show(shop.decline_fee_minor, shop.currency) if shop.decline_fee_minor else "",
                        amp=f"{order.amp.title}, repair {order.number}", fee=show(offered.fee_minor, shop.currency),
                        fee_credited=offered.fee_credited, ceiling=show(offered.ceiling_minor, shop.currency),
                        day=day(clock.now().astimezone(shop.zone)), locale=locale())


def _agreement(order_id: int) -> Agreement:
    """What is offered; the shop's own fee where an order has no offer yet."""
    shop = the_shop()
    return sheets_queries.agreement(order_id) or Agreement(
        order_id=order_id, fee_minor=shop.diagnosis_fee_minor, fee_credited=True,
        ceiling_minor=shop.diagnosis_fee_minor, declared_value_minor=None, version=0)
