"""Reading bills, credit notes and entries; what is due, and what is owed by whom since when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import aliased, joinedload

from app.db import session
from app.intake.queries import sheets as intake
from app.money.models import Bill, CreditNote, MoneyEntry
from app.money.rules import Balance, EntryKind, Row, age_of, balance, owed_since
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.warranty import Pays, who_pays
from app.quote import costs
from app.quote import queries as quotes
from app.records.models import Customer
from app.request_cache import cached_until_write
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Account:
    """All the money of one order."""

    bills: Sequence[Bill]
    credits: Sequence[CreditNote]
    entries: Sequence[MoneyEntry]

    @property
    def balance(self) -> Balance:
        return balance((one.total_minor for one in self.bills), (one.total_minor for one in self.credits),
                       (one.entered for one in self.entries if one.struck_at is None))

    @property
    def repair_charged_minor(self) -> int:
        """What is billed for work, less credit notes; storage apart."""
        work = {one.id for one in self.bills if one.kind.value != "storage"}
        return (sum(one.total_minor for one in self.bills if one.id in work)
                - sum(one.total_minor for one in self.credits if one.bill_id in work))

    def left_of(self, bill: Bill) -> int:
        """What credit notes have left of a bill."""
        return bill.total_minor - sum(one.total_minor for one in self.credits if one.bill_id == bill.id)

    @property
    def empty(self) -> bool:
        return not (self.bills or self.entries)


@cached_until_write
def account(order_id: int) -> Account:
    """Bills and credit notes by number, entries by their moment, struck ones too."""
    bills = session().scalars(sa.select(Bill).where(Bill.order_id == order_id).order_by(Bill.number)).all()
    notes = session().scalars(sa.select(CreditNote).where(CreditNote.order_id == order_id).options(joinedload(CreditNote.bill))
                              .order_by(CreditNote.number)).all() if bills else []
    entries = session().scalars(sa.select(MoneyEntry).where(MoneyEntry.order_id == order_id).order_by(MoneyEntry.id)).all()
    return Account(bills, notes, sorted(entries, key=lambda one: one.moment))


def find_bill(bill_id: int) -> Bill | None:
    """The bill with this id."""
    return session().get(Bill, bill_id)


def find_credit(credit_id: int) -> CreditNote | None:
    """The credit note with this id."""
    return session().get(CreditNote, credit_id)


def find_entry(entry_id: int) -> MoneyEntry | None:
    """The entry with this id."""
    return session().get(MoneyEntry, entry_id)


def next_number(kind: type[Bill] | type[CreditNote]) -> int:
    """One more than the last, or the shop's first. Nobody else writes meanwhile, nothing is deleted: no gap, no number twice."""
    last = session().scalar(sa.select(sa.func.max(kind.number)))
    shop = the_shop()
    return last + 1 if last is not None else shop.first_bill if kind is Bill else shop.first_credit_note


def fee(order: RepairOrder) -> int:
    """The diagnosis fee that was agreed, tax included; 0 for a come-back that nobody has found to be chargeable."""
    answer, offered = quotes.authorisation(order), intake.agreement(order.id)
    if who_pays(order) is not Pays.CUSTOMER:
        return 0
    return answer.quote.diagnosis_minor if answer is not None else offered.fee_minor if offered else 0


def fees_unrepaired(order: RepairOrder) -> tuple[Row, ...]:
    """What an amp that leaves unrepaired is charged, tax included: the diagnosis, and the fee where all was declined."""
    rows = [Row("Diagnosis, as agreed at the counter", fee(order))]
    answer = quotes.authorisation(order)
    if answer is not None and not quotes.agreed_lines(order) and who_pays(order) is Pays.CUSTOMER:
        rows.append(Row(f"Fee for the declined quote, revision {answer.quote.number}", answer.quote.decline_fee_minor))
    return tuple(row for row in rows if row.minor)


def due(order: RepairOrder, *, unrepaired: bool) -> int:
    """What is to be charged for the work as things stand, tax included, never above what was agreed; what is billed, once it is."""
    charged = account(order.id).repair_charged_minor
    if charged:
        return charged
    if who_pays(order) is not Pays.CUSTOMER:
        return 0
    wanted = sum(row.minor for row in fees_unrepaired(order)) if unrepaired else costs.committed(order)
    return min(wanted, authority.ceiling(order.id) or 0)


@dataclass(frozen=True)
class Owed:
    """What one order owes: to be paid by whom, the day it was due, how old that is (a place in AGE_WORDS)."""

    order: RepairOrder
    customer: Customer
    minor: int
    due_on: date
    age: int


def owed(today: date, customer_id: int | None = None) -> list[Owed]:
    """Every order that owes something, oldest first; of one customer if one is named. Five questions, however many orders."""
    accounts = _accounts()
    people = _people_of([of.bills[-1] for of in accounts.values() if of.bills])
    with_money = sa.or_(*(sa.exists().where(kind.order_id == RepairOrder.id) for kind in (Bill, MoneyEntry)))
    orders = session().scalars(sa.select(RepairOrder).where(with_money)
                               .options(joinedload(RepairOrder.authority), joinedload(RepairOrder.amp))).unique()
    found = []
    for order in orders:
        of = accounts[order.id]
        who = people[of.bills[-1].customer_id] if of.bills else order.authority
        if of.balance.owed_minor > 0 and customer_id in (None, who.id):
            since = _due_on(of)
            found.append(Owed(order, who, of.balance.owed_minor, since, age_of(since, today)))
    return sorted(found, key=lambda one: (one.due_on, one.order.number))


def _accounts() -> dict[int, Account]:
    """The account of every order that has one, by the order's id; struck entries left out."""
    found: dict[int, tuple[list[Bill], list[CreditNote], list[MoneyEntry]]] = defaultdict(lambda: ([], [], []))
    for bill in session().scalars(sa.select(Bill).order_by(Bill.number)):
        found[bill.order_id][0].append(bill)
    for note in session().scalars(sa.select(CreditNote).order_by(CreditNote.number)):
        found[note.order_id][1].append(note)
    for entry in session().scalars(sa.select(MoneyEntry).where(MoneyEntry.struck_at.is_(None)).order_by(MoneyEntry.id)):
        found[entry.order_id][2].append(entry)
    return {order_id: Account(*of) for order_id, of in found.items()}


def _due_on(of: Account) -> date:
    """Since when it owes: the day of the first sum that payments do not cover, which count for what was due first.

    (Common practice, no source.)
    """
    zone = the_shop().zone
    charged = [(one.due_on, of.left_of(one)) for one in of.bills]
    charged += [(one.paid_at.astimezone(zone).date(), one.entered.counts_minor) for one in of.entries
                if one.kind is EntryKind.CARRIED]
    return owed_since(charged, of.balance.received_minor + of.balance.written_off_minor)


def records_of(customer_id: int) -> sa.Select[int]:
    """The keys of this customer's record and of those that were merged into it."""
    return sa.select(Customer.id).where(sa.or_(Customer.id == customer_id, Customer.merged_into_id == customer_id))


def due_for_work(order_id: int, written_minor: int | None) -> int | None:
    """What of the sums that were written down is for the work: storage is no part of what was agreed for it."""
    of = account(order_id)
    return of.repair_charged_minor if written_minor is not None and of.bills else written_minor


def payer(order: RepairOrder) -> Customer:
    """Whoever pays: the person of the newest bill, whoever approves cost since; before there is a bill, who approves cost."""
    bills = account(order.id).bills
    return _people_of(bills[-1:]).get(bills[-1].customer_id, order.authority) if bills else order.authority


def _people_of(bills: Collection[Bill]) -> dict[int, Customer]:
    """Whom each bill is to, by the key that it names; where records were merged, the record that was kept."""
    named = aliased(Customer)
    rows = session().execute(sa.select(named.id, Customer).join(
        Customer, Customer.id == sa.func.coalesce(named.merged_into_id, named.id))
        .where(named.id.in_({one.customer_id for one in bills})))
    return {row[0]: row[1] for row in rows}


def customers_orders(customer_id: int) -> Sequence[RepairOrder]:
    """Every order whose cost this customer approves, oldest first."""
    return session().scalars(sa.select(RepairOrder).where(RepairOrder.authority_id == customer_id)
                             .options(joinedload(RepairOrder.amp)).order_by(RepairOrder.number)).all()


@dataclass(frozen=True)
class Warranted:
    """The warranty on one item: its first and its last day."""

    what: str
    first: date
    last: date


def warranties(order: RepairOrder) -> list[Warranted]:
    """What is warranted since the amp left repaired; nothing before, or where it left otherwise."""
    if order.ended_at is None or order.ended_as is None or order.ended_as.value != "repaired":
        return []
    out = order.ended_at.astimezone(the_shop().zone).date()
    return [Warranted(line.what, out, out + timedelta(days=line.warranty_days)) for line in quotes.agreed_lines(order)
            if line.warranty_days]
