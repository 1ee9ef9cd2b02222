"""Issuing a bill, correcting it by a credit note, and entering what is paid, given back or given up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.kernel.taxes import Taxed, TaxRule
from app.money import queries
from app.money.models import Bill, CreditNote, MoneyEntry
from app.money.rules import (
    Billed,
    BillKind,
    EntryKind,
    Method,
    Row,
    check_bill,
    check_credit,
    check_entry,
    check_moment,
    make_out,
)
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.orders.warranty import Pays, who_pays
from app.quote import queries as quotes
from app.quote.rules.costs import in_all
from app.shop.queries import day, the_shop
from app.shop.tax_columns import taxes_of

EVENTS = {EntryKind.DEPOSIT: Event.MONEY_RECEIVED, EntryKind.PAYMENT: Event.MONEY_RECEIVED, EntryKind.REFUND: Event.MONEY_REFUNDED,
          EntryKind.WRITE_OFF: Event.MONEY_WRITTEN_OFF}


DEARER = "Parts that cost more than quoted, within what was agreed"
NOT_CHARGED = "Not charged, as it is above what was agreed"


@dataclass(frozen=True)
class Entry:
    """What was paid, given back or given up: how much, how, when, and why where it does not come in."""

    kind: EntryKind
    amount_minor: int
    method: Method
    paid_at: datetime
    note: str = ""


def bill(order: RepairOrder, due_minor: int, because: str = "", *, unrepaired: bool = False, by: Actor, now: datetime) -> Bill:
    """The bill for the work, of just this sum (tax included). `because` says what makes it another one than was agreed."""
    must_be_open(order)
    _must_pay(order)
    if agreed_by := authority.agreed_by_another(order):
        raise BadInput(f"{agreed_by} agreed to the cost, and {order.authority.name} would be billed. Record first what "
                       f"{order.authority.name} agrees to, or name {agreed_by} again as the person who approves cost.", "due_minor")
    check_bill(due_minor, queries.account(order.id).repair_charged_minor, authority.ceiling(order.id))
    made_out = _unrepaired(order, due_minor, because) if unrepaired else _repaired(order, due_minor, because)
    return _issue(order, BillKind.UNREPAIRED if unrepaired else BillKind.REPAIR, made_out, by=by, now=now)


def bill_storage(order: RepairOrder, amount_minor: int, what: str, disclosed: str, *, by: Actor, now: datetime) -> Bill:
    """Storage, tax included, and only where the customer was told of it before: `disclosed` says where and when."""
    must_be_open(order)
    if not disclosed.strip():
        raise BadInput("Enter where and when the customer was told of storage charges: storage that was not disclosed is not "
                       "charged.", "disclosed")
    if not what.strip():
        raise BadInput("Enter for which days, and at what price a day.", "what")
    if amount_minor <= 0:
        raise BadInput("Enter a sum above 0.", "amount_minor")
    made_out = make_out(the_shop().tax_rule, (), [Row(what.strip(), amount_minor)], amount_minor, "")
    return _issue(order, BillKind.STORAGE, made_out, by=by, now=now, disclosed=disclosed.strip())


def credit(corrected: Bill, amount_minor: int, reason: str, *, by: Actor, now: datetime) -> CreditNote:
    """Take back a part of a bill, or all of it, also after the order has ended. The bill itself stays as it is."""
    of = queries.account(corrected.order_id)
    left = of.left_of(corrected)
    check_credit(amount_minor, left, reason)
    taxed = _credited(corrected, amount_minor, left, of)
    note = CreditNote(number=queries.next_number(CreditNote), bill_id=corrected.id, order_id=corrected.order_id,
                      reason=reason.strip(), credited_on=now.astimezone(the_shop().zone).date(), net_minor=taxed.net_minor,
                      tax_minor=taxed.tax_minor,
                      second_tax_minor=taxed.second_minor, total_minor=amount_minor, at=now, by_name=by.name)
    session().add(note)
    record(Event.CREDIT_NOTE_ISSUED, note, by=by, now=now, reason=note.reason,
           after={"credit note": note.number, "of bill": corrected.number, "sum": show(amount_minor, corrected.currency)})
    return note


def enter(order: RepairOrder, what: Entry, *, by: Actor, now: datetime) -> MoneyEntry:
    """Keep a deposit, a payment, a refund or a write-off. All but a deposit are possible after the order has ended too."""
    if what.kind is EntryKind.DEPOSIT:
        must_be_open(order)
        _must_pay(order)
    if what.kind not in EVENTS:
        raise RuleBroken("Nobody enters such a thing any more.")
    check_moment(what.paid_at, now)
    method = what.method if what.kind.moves_money else Method.NOTHING
    rounding = check_entry(what.kind, what.amount_minor, method, what.note, queries.account(order.id).balance,
                           agreed_minor=authority.ceiling(order.id), cash_step=the_shop().cash_step)
    entry = MoneyEntry(order_id=order.id, kind=what.kind, amount_minor=what.amount_minor, rounding_minor=rounding, method=method,
                       paid_at=what.paid_at, taken_by=by.name, note=what.note.strip(), recorded_at=now)
    session().add(entry)
    currency = the_shop().currency
    record(EVENTS[what.kind], entry, by=by, now=now, after={
        "what": entry.kind.value, "sum": show(entry.amount_minor, currency), "by": method.value,
        "rounded to coins by": show(rounding, currency) if rounding else None, "note": entry.note or None})
    return entry


def strike(entry: MoneyEntry, reason: str, *, by: Actor, now: datetime) -> None:
    """An entry that was wrong: it stays readable and no longer counts. Refused where a refund or write-off rests on it."""
    if entry.struck_at is not None:
        raise RuleBroken("This entry is struck out already.")
    if entry.kind is EntryKind.CARRIED:
        raise RuleBroken("What was due before bills had numbers is settled by a payment or a write-off.")
    if not reason.strip():
        raise BadInput("Enter why this entry does not count.", "reason")
    stands = queries.account(entry.order_id).balance
    if entry.kind.comes_in and stands.received_minor < entry.entered.counts_minor:
        raise RuleBroken("A refund rests on this payment. Strike out the refund first.")
    entry.struck_at, entry.struck_by, entry.struck_reason = now, by.name, reason.strip()
    record(Event.MONEY_STRUCK, entry, by=by, now=now, reason=entry.struck_reason,
           before={"what": entry.kind.value, "sum": show(entry.amount_minor, the_shop().currency)}, after={"counts": False})


def _must_pay(order: RepairOrder) -> None:
    pays = who_pays(order)
    if pays is not Pays.CUSTOMER:
        raise BadInput(pays.why_nothing_is_charged, "due_minor")


def _repaired(order: RepairOrder, due_minor: int, because: str) -> Billed:
    """The agreed items at the prices of their quote, and what of the diagnosis comes on top."""
    answer = quotes.authorisation(order)
    if answer is None:
        fee = queries.fee(order)
        fees = [Row("Diagnosis, as agreed at the counter", fee)] if fee else []
        return make_out(the_shop().tax_rule, (), fees, due_minor, because)
    quote = answer.quote
    agreed = [Row(line.what, line.net_minor, line.warranty_days) for line in quotes.agreed_lines(order)]
    beyond = in_all(answer.total_minor, quote.diagnosis_minor, credited=quote.diagnosis_credited) - answer.total_minor
    what = "Diagnosis, what the repair does not cover of its fee" if quote.diagnosis_credited else "Diagnosis"
    if not because.strip() and due_minor == queries.due(order, unrepaired=False):
        because = (DEARER if due_minor > answer.total_minor + beyond else NOT_CHARGED)
    return make_out(quote.tax_rule, agreed, [Row(what, beyond)] if beyond else [], due_minor, because)


def _unrepaired(order: RepairOrder, due_minor: int, because: str) -> Billed:
    return make_out(_rule(order), (), queries.fees_unrepaired(order), due_minor, because)


def _rule(order: RepairOrder) -> TaxRule:
    answer = quotes.authorisation(order)
    return answer.quote.tax_rule if answer is not None else the_shop().tax_rule


def _issue(order: RepairOrder, kind: BillKind, made_out: Billed, *, by: Actor, now: datetime, disclosed: str = "") -> Bill:
    shop, answer, sums, to = the_shop(), quotes.authorisation(order), made_out.sums, order.authority
    today = now.astimezone(shop.zone).date()
    of = answer.quote if answer is not None and kind is not BillKind.STORAGE else shop
    made = Bill(number=queries.next_number(Bill), order_id=order.id, customer_id=to.id, kind=kind, billed_on=today,
                due_on=today + timedelta(days=shop.pay_within_days), to_name=to.name, to_address=to.address, currency=of.currency,
                lines=[[row.what, row.minor, row.warranty_days] for row in made_out.rows], **taxes_of(of), net_minor=sums.net_minor,
                tax_minor=sums.tax_minor, second_tax_minor=sums.second_minor, total_minor=sums.total_minor,
                agreed_minor=authority.ceiling(order.id) or 0, disclosed=disclosed, at=now, by_name=by.name)
    session().add(made)
    record(Event.BILL_ISSUED, made, by=by, now=now,
           after={"bill": made.number, "for": kind.value, "total": show(made.total_minor, made.currency),
                  "due on": day(made.due_on), "to": made.to_name, "disclosed": disclosed or None})
    return made


def _credited(corrected: Bill, amount_minor: int, left: int, of: queries.Account) -> Taxed:
    """The tax inside what is credited; where all that is left is, just what the bill and its earlier notes leave of each tax."""
    if amount_minor < left:
        return corrected.tax_rule.inside(amount_minor)
    before = [one for one in of.credits if one.bill_id == corrected.id]
    tax = corrected.tax_minor - sum(one.tax_minor for one in before)
    second = corrected.second_tax_minor - sum(one.second_tax_minor for one in before)
    return Taxed(amount_minor - tax, (tax - second, second) if corrected.second_tax_name else (tax,))
