"""Opening an order at the counter, and what is said about it as a whole: complaint, people, shelf and date."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import date, datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput
from app.intake.models import Complaint
from app.intake.service.sheets import Offer, offer
from app.intake.service.writing import put, say, tidy
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.records.models import Amp, Customer
from app.shop.models import Shop


@dataclass(frozen=True)
class ComplaintFacts:
    """What the customer says; None for smell, smoke and fuse where nobody asked."""

    words: str
    connected: str = ""
    how_long_on: str = ""
    last_right: str = ""
    worked_on_by: str = ""
    smell: bool | None = None
    smoke: bool | None = None
    fuse: bool | None = None
    keep: str = ""
    leave_alone: str = ""


@dataclass(frozen=True)
class CheckIn:
    """Somebody brings an amp: who, which, the complaint, and the repair it comes back after, if it does."""

    depositor: Customer
    amp: Amp
    complaint: str
    come_back_of: RepairOrder | None = None
    owner: Customer | None = None  # None: who leaves it
    authority: Customer | None = None  # None: who leaves it


@dataclass(frozen=True)
class People:
    """Who left the amp, who owns it, who may approve cost: three roles, often one person."""

    depositor: Customer
    owner: Customer
    authority: Customer


@dataclass(frozen=True)
class Place:
    """Where the amp stands and when the customer hears next."""

    shelf: str = ""
    promised_on: date | None = None
    today: date | None = field(default=None, compare=False)


def check_in(what: CheckIn, shop: Shop, *, by: Actor, now: datetime) -> RepairOrder:
    """Open the order, with the complaint and the shop's fee for diagnosis as an offer.

    BadInput without a complaint, if the amp is in the house already, if it cannot come back after that repair, or for a record
    that was merged into another.
    """
    complaint_in_words(what.complaint, "complaint")
    if what.amp.merged_into_id is not None:
        raise BadInput("This record of the amp was merged into another one. Check the amp in from the record that was kept.")
    here = session().scalar(sa.select(RepairOrder).where(RepairOrder.amp_id == what.amp.id,
                                                         RepairOrder.ended_as.is_(None)))
    if here is not None:
        raise BadInput(f"This amp is already checked in as repair {here.number}.")
    first = what.come_back_of
    if first is not None and (first.amp_id != what.amp.id or first.ended_as in (None, End.VOID)):
        raise BadInput(f"Repair {first.number} is not an ended repair of this amp.", "come_back_of")
    session().flush()
    owner, authority = what.owner or what.depositor, what.authority or what.depositor
    order = orders.open_order(amp_id=what.amp.id, depositor_id=what.depositor.id, owner_id=owner.id, authority_id=authority.id,
                              first_number=shop.first_number, come_back_of=first, by=by, now=now)
    session().flush()
    complain(order, ComplaintFacts(what.complaint), by=by, now=now)
    fee = 0 if first is not None else shop.diagnosis_fee_minor  # a come-back is looked at for nothing until it is judged
    offer(order, Offer(fee, True, fee), by=by, now=now)
    return order


def complain(order: RepairOrder, facts: ComplaintFacts, *, by: Actor, now: datetime) -> Complaint:
    """The complaint word for word, what was connected, what must be kept and what must not be changed."""
    orders.must_be_open(order)
    complaint_in_words(facts.words, "words")
    given = {name: value.strip() if isinstance(value, str) else value for name, value in asdict(facts).items()}
    complaint = session().scalar(sa.select(Complaint).where(Complaint.order_id == order.id))
    if complaint is not None:
        put(complaint, given, Event.COMPLAINT_CHANGED, by=by, now=now)
        return complaint
    complaint = Complaint(order_id=order.id, at=now, by_name=by.name, **given)
    session().add(complaint)
    record(Event.COMPLAINT_RECORDED, complaint, by=by, now=now,
           after={name: say(value) for name, value in given.items() if say(value) is not None})
    return complaint


def complaint_in_words(words: str, field_name: str) -> None:
    """BadInput, beside this field, if there are no words."""
    if not words.strip():
        raise BadInput("Enter what the customer says is wrong, in their own words.", field_name)


def name_people(order: RepairOrder, people: People, *, by: Actor, now: datetime) -> None:
    """Say who left the amp, who owns it and who may approve cost."""
    orders.must_be_open(order)
    roles = {"left by": ("depositor", people.depositor), "owner": ("owner", people.owner),
             "may approve cost": ("authority", people.authority)}
    changed = {role: (attribute, who) for role, (attribute, who) in roles.items()
               if getattr(order, f"{attribute}_id") != who.id}
    if not changed:
        return
    orders.must_be_known(*(who.id for _, who in changed.values()))
    before = {role: getattr(order, attribute).name for role, (attribute, _) in changed.items()}
    for attribute, who in changed.values():
        setattr(order, attribute, who)
    record(Event.PEOPLE_NAMED, order, by=by, now=now, before=before,
           after={role: who.name for role, (_, who) in changed.items()})


def place(order: RepairOrder, where: Place, *, by: Actor, now: datetime) -> None:
    """Where it stands, and the day on which the customer hears next."""
    orders.must_be_open(order)
    moved = where.promised_on != order.promised_on
    if moved and where.promised_on and where.today and where.promised_on < where.today:
        raise BadInput("Enter today or a later date.", "promised_on")
    put(order, {"shelf": tidy(where.shelf), "promised_on": where.promised_on}, Event.ORDER_PLACED, by=by, now=now)
