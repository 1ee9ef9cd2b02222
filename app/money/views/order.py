"""Bills, credit notes and payments of one order."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound, RuleBroken
from app.kernel.form_fields import House, read_form
from app.kernel.saving import save_or_reshow
from app.money import lien, queries, service
from app.money.forms import CreditForm, EntryForm, RefundForm, StorageForm, StrikeForm, WriteOffForm
from app.money.models import Bill, MoneyEntry
from app.money.rules import EntryKind
from app.money.views.common import bp
from app.orders import authority
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.warranty import who_pays
from app.shop.queries import the_shop

# What may be entered by hand: its word in the address, and what is said of it.
KINDS = {"deposit": EntryKind.DEPOSIT, "payment": EntryKind.PAYMENT, "refund": EntryKind.REFUND, "write-off": EntryKind.WRITE_OFF}
TITLES = {EntryKind.DEPOSIT: "Record a deposit", EntryKind.PAYMENT: "Record a payment", EntryKind.REFUND: "Record a refund",
          EntryKind.WRITE_OFF: "Write off what is owed"}
FORMS = {EntryKind.REFUND: RefundForm, EntryKind.WRITE_OFF: WriteOffForm}  # the others are taken as they come


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """What is billed, paid and owed, and each act that changes it."""
    order, account = load_order(order_id), queries.account(order_id)
    return render_template("money/page.html", order=order, account=account, stands=account.balance, pays=who_pays(order),
                           ceiling=authority.ceiling(order_id), warranties=queries.warranties(order),
                           lien=lien.of(the_shop().jurisdiction))


@bp.route("/new/<kind>", methods=["GET", "POST"])
@may(May.HAND_OUT)
def enter(order_id: int, kind: str) -> Response | str:
    """A deposit, a payment, a refund or a write-off."""
    order, what = load_order(order_id, May.HAND_OUT), KINDS.get(kind)
    if what is None:
        raise NotFound("There is no such entry.")
    zone, stands = the_shop().zone, queries.account(order_id).balance
    here = clock.now().astimezone(zone)
    form = read_form(FORMS.get(what, EntryForm), paid_on=here.date(), paid_at=here.time())
    if what is EntryKind.PAYMENT and stands.owed_minor <= 0:
        raise RuleBroken("Nothing is owed on this repair. Record a deposit, or issue the bill first.")

    def act(saved: Any) -> Response:
        service.enter(order, form.entry(what, zone), by=actor(), now=clock.now())
        flash("Saved.", "saved")
        answer: Response = saved("money.page", order_id=order_id)
        return answer

    return save_or_reshow(form, act) or _sheet("entry", order, form, title=TITLES[what], kind=kind, what=what, stands=stands,
                                               ceiling=authority.ceiling(order_id))


@bp.route("/bills/<int:bill_id>/credit", methods=["GET", "POST"])
@may(May.HAND_OUT)
def credit(order_id: int, bill_id: int) -> Response | str:
    """Correct a bill by a credit note."""
    order, bill = load_order(order_id, May.HAND_OUT), _bill(order_id, bill_id)
    form = read_form(CreditForm)

    def act(saved: Any) -> Response:
        note = service.credit(bill, int(form.credit_minor.data or 0), form.reason.data or "", by=actor(), now=clock.now())
        flash(f"Credit note {note.number} is issued.", "saved")
        answer: Response = saved("money.page", order_id=order_id)
        return answer

    return save_or_reshow(form, act) or _sheet("credit", order, form, bill=bill, left=queries.account(order_id).left_of(bill))


@bp.route("/storage", methods=["GET", "POST"])
@may(May.HAND_OUT)
def storage(order_id: int) -> Response | str:
    """Bill storage, where the customer was told of it before."""
    order = load_order(order_id, May.HAND_OUT)
    form = read_form(StorageForm)

    def act(saved: Any) -> Response:
        made = service.bill_storage(order, int(form.amount_minor.data or 0), form.what.data or "", form.disclosed.data or "",
                                    by=actor(), now=clock.now())
        flash(f"Bill {made.number} is issued.", "saved")
        answer: Response = saved("money.page", order_id=order_id)
        return answer

    return save_or_reshow(form, act) or _sheet("storage", order, form)


@bp.route("/entries/<int:entry_id>/strike", methods=["GET", "POST"])
@may(May.HAND_OUT)
def strike(order_id: int, entry_id: int) -> Response | str:
    """Strike out an entry that was wrong."""
    order, entry = load_order(order_id, May.HAND_OUT), _find_entry(order_id, entry_id)
    form = read_form(StrikeForm)

    def act(saved: Any) -> Response:
        service.strike(entry, form.reason.data or "", by=actor(), now=clock.now())
        flash("Struck out. The entry stays readable.", "saved")
        answer: Response = saved("money.page", order_id=order_id)
        return answer

    return save_or_reshow(form, act) or _sheet("strike", order, form, entry=entry)


def _sheet(name: str, order: RepairOrder, form: House, **values: Any) -> str:
    return render_template(f"money/{name}.html", order=order, form=form, has_errors=form.has_errors, **values)


def _bill(order_id: int, bill_id: int) -> Bill:
    found = queries.find_bill(bill_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such bill.")
    return found


def _find_entry(order_id: int, entry_id: int) -> MoneyEntry:
    found = queries.find_entry(entry_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such entry.")
    return found
