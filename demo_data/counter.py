"""What the counter does in the demo: checks in, telephones, hands out."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from werkzeug.datastructures import FileStorage

from app.db import session
from app.documents import queries as documents_issued
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.documents.service import Made
from app.handover import queries as handing
from app.handover.rules import Acknowledged, Collector, HowSigned, Measure, OldPartsFate, Reason
from app.handover.service import going_out as going_out_service
from app.handover.service import unrepaired as unrepaired_service
from app.intake.models import HowSigned as HowAccepted
from app.intake.queries.left import what_was_left
from app.intake.queries.terms import in_force
from app.intake.rules import Looked
from app.intake.service import checking_in as checking_in_service
from app.intake.service import danger as danger_service
from app.intake.service import merging
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service import signing as signing_service
from app.intake.service.checking_in import CheckIn, ComplaintFacts, Place
from app.intake.service.sheets import Offer
from app.intake.service.signing import Signed as Accepted
from app.intake.terms import text_to_sign
from app.kernel.money import show
from app.money import queries as money
from app.money import service as money_service
from app.money.models import MoneyEntry
from app.money.rules import EntryKind, Method
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.photos import service as photos
from app.photos.models import Phase, Photo
from app.photos.prepare import prepare
from app.quote import queries as quotes
from app.records.models import Amp, Customer
from app.records.rules import ProtectionClass
from app.records.spec import AmpFacts, CustomerFacts
from app.shop.queries import day, locale, the_shop
from demo_data.darkroom import Plate
from demo_data.setting import Crew
from demo_data.story import Picture, Story

PEN = "M40 130L62 70L78 128L96 84L118 136L150 92L176 126L212 88L240 118L300 96"


@dataclass
class Stage:
    """Where a story is played: who plays, the developed pictures, and the moment it has come to."""

    crew: Crew
    plates: Callable[[Picture], Plate]
    now: datetime

    def later(self, **given: float) -> datetime:
        self.now += timedelta(**given)
        return self.now


def check_in(story: Story, stage: Stage) -> RepairOrder:
    """Customer, amp and complaint; the order is open."""
    by = stage.crew.counter
    customer = _customer(story, stage)
    amp = _amp(story, stage)
    return checking_in_service.check_in(CheckIn(customer, amp, story.complaint), the_shop(), by=by, now=stage.later(minutes=4))


def finish_intake(order: RepairOrder, story: Story, stage: Stage) -> None:
    """Everything else that intake asks for."""
    by, today = stage.crew.counter, stage.now.date()
    checking_in_service.complain(
        order, ComplaintFacts(story.complaint, connected=story.connected, keep=story.keep), by=by, now=stage.later(minutes=2)
    )
    for zone, note in story.notes:
        sheets_service.note_condition(order, zone, note, by=by, now=stage.later(minutes=1))
    show_pictures(order, story.outside, stage)
    sheets_service.count(order, story.accessories, by=by, now=stage.later(minutes=1))
    danger_service.look(order, Looked(story.dangers), by=by, now=stage.later(minutes=1))
    promised = (
        today + timedelta(days=21) if story.promised_in is None else today + timedelta(days=story.days_ago + story.promised_in)
    )
    checking_in_service.place(order, Place(story.shelf, promised, today), by=by, now=stage.later(minutes=1))
    offered = sheets_service.offer(order, Offer(the_shop().diagnosis_fee_minor, True, 15000, 60000), by=by,
                                   now=stage.later(minutes=1))
    session().flush()
    terms, money = in_force(the_shop().jurisdiction), the_shop().currency
    text = text_to_sign(
        terms,
        shop=the_shop().name,
        amp=order.amp.title,
        fee=show(offered.fee_minor, money),
        fee_credited=True,
        ceiling=show(offered.ceiling_minor, money),
        day=day(stage.now),
        locale=locale(),
        left=what_was_left(order),
    )
    signing_service.accept(
        order, Accepted(order.depositor, HowAccepted.SCREEN, PEN), terms, text, agreement=offered, by=by, now=stage.later(minutes=2)
    )


def tidy_up(order: RepairOrder, crew: Crew, now: datetime) -> None:
    """What a counter puts right: the same customer written down twice, and an amp checked in twice."""
    known = order.depositor
    double = records_service.add_customer(CustomerFacts(known.name.upper(), email="also@mail.example"), by=crew.counter, now=now)
    plate = records_service.add_amp(AmpFacts(order.amp.maker, order.amp.model, f"{order.amp.serial}?"), by=crew.counter, now=now)
    session().flush()
    twice = checking_in_service.check_in(CheckIn(double, plate, "see the other card"), the_shop(), by=crew.counter, now=now)
    session().flush()
    orders.void(twice, "the same amp was checked in twice", by=crew.counter, now=now + timedelta(minutes=5))
    merging.merge_amps(order.amp, plate, "the plate was read again", by=crew.counter, now=now + timedelta(minutes=6))
    merging.merge_customers(known, double, "asked on the phone: one person", by=crew.counter, now=now + timedelta(minutes=7))


def show_pictures(order: RepairOrder, wanted: tuple[Picture, ...], stage: Stage) -> list[Photo]:
    """Take these photos; the same drawings that hang in the darkroom."""
    made = []
    for one in wanted:
        data, _ = stage.plates(one)
        ready = prepare(FileStorage(io.BytesIO(data), "photo.jpg", content_type="image/jpeg"))
        made.append(
            photos.add(
                order,
                ready,
                place=one.place,
                caption=one.caption,
                phase=Phase(one.phase),
                by=stage.crew.bench if one.phase == "as_left" else stage.crew.counter,
                now=stage.later(minutes=1),
            )
        )
    session().flush()
    return made


def make_paper(order: RepairOrder, kind: Kind, now: datetime) -> Made:
    """Render a document. Between two transactions, as everywhere: it is slow."""
    return make(order, paper(order, kind), now=now)


def give_paper(order: RepairOrder, made: Made, stage: Stage) -> None:
    """Issue it."""
    documents.issue(order, made, by=stage.crew.counter, now=stage.later(minutes=1))


def settle(order: RepairOrder, stage: Stage) -> None:
    """All that the return asks for but report and signature."""
    by = stage.crew.counter
    for one, _ in handing.things(order.id):
        going_out_service.check_off(order, one, one.quantity, "", by=by, now=stage.later(minutes=1))
    going_out_service.settle_old_parts(order, OldPartsFate.GIVEN_BACK, "in a bag, each with its tag", by=by,
                                       now=stage.later(minutes=1))
    due = quotes.authorised_sum(order) or 0
    in_parts = due > 20_000 and not session().query(MoneyEntry).filter_by(kind=EntryKind.DEPOSIT).count()
    if in_parts:  # one customer pays in parts, and what is left stands on the list of what is owed
        money_service.enter(order, money_service.Entry(EntryKind.DEPOSIT, 5000, Method.CASH, stage.now), by=by,
                            now=stage.later(minutes=1))
        session().flush()
    paid = 8000 if in_parts else due
    going_out_service.settle(order, due, paid, Method.CARD if due else Method.NOTHING,
                             "the rest in two parts, by the end of next month" if in_parts else "", by=by,
                             now=stage.later(minutes=2))
    going_out_service.show_working(
        order, True, "Both channels played, speaker load and spare fuse explained.", by=by, now=stage.later(minutes=5)
    )


def sign_for_it(order: RepairOrder, stage: Stage) -> None:
    """Whoever left it takes it, and signs."""
    signed = going_out_service.Signed(order.depositor.name, Collector.DEPOSITOR, HowSigned.SCREEN, PEN)
    going_out_service.sign(order, signed, by=stage.crew.counter, now=stage.later(minutes=2))


def release(order: RepairOrder, stage: Stage) -> None:
    """Out of the door, repaired. Where it was paid in parts, a part of the rest comes, and a credit note corrects the bill."""
    by = stage.crew.counter
    going_out_service.release(order, by=by, now=stage.later(minutes=1))
    account = money.account(order.id)
    if account.balance.owed_minor > 5000:
        session().flush()
        money_service.credit(account.bills[0], 1100, "one fuse too many was counted", by=by, now=stage.later(hours=3))
        session().flush()
        part = money_service.Entry(EntryKind.PAYMENT, 3000, Method.TRANSFER, stage.now, "first part")
        money_service.enter(order, part, by=by, now=stage.later(hours=20))


def prepare_unrepaired(order: RepairOrder, stage: Stage) -> None:
    """It goes home as it is: said why, made safe, everything checked off."""
    by = stage.crew.counter
    leaving = unrepaired_service.Leaving(
        Reason.UNECONOMIC,
        "Its mains transformer runs hot enough to char its paper. Left on, it can catch fire.",
        (Measure.LEAD,),
        "Have the transformer rewound before it is used again.",
        tag="T-0012",
    )
    unrepaired_service.write_unrepaired(order, leaving, by=by, now=stage.later(minutes=4))
    for one, _ in handing.things(order.id):
        going_out_service.check_off(order, one, one.quantity, "", by=by, now=stage.later(minutes=1))
    going_out_service.settle_old_parts(order, OldPartsFate.NONE, "", by=by, now=stage.later(minutes=1))
    due = money.due(order, unrepaired=True)
    going_out_service.settle(order, due, due, Method.CARD if due else Method.NOTHING, by=by, now=stage.later(minutes=2))


def leave_unrepaired(order: RepairOrder, stage: Stage) -> None:
    given = unrepaired_service.Acknowledging(order.depositor.name, Acknowledged.SCREEN, PEN)
    unrepaired_service.acknowledge(order, given, by=stage.crew.counter,
                                   now=stage.later(minutes=3))
    session().flush()
    if label := documents_issued.newest(order.id, Kind.UNREPAIRED):
        documents.tie_label(order, label, by=stage.crew.counter, now=stage.later(minutes=1))
    session().flush()
    unrepaired_service.give_back_unrepaired(order, by=stage.crew.counter, now=stage.later(minutes=1))


def _customer(story: Story, stage: Stage) -> Customer:
    known = session().query(Customer).filter_by(name=story.who.name).first()
    who = story.who
    return known or records_service.add_customer(
        CustomerFacts(who.name, who.phone, who.email, who.address), by=stage.crew.counter, now=stage.later(minutes=2)
    )


def _amp(story: Story, stage: Stage) -> Amp:
    what = story.what
    known = session().query(Amp).filter_by(maker=what.maker, serial=what.serial).first()
    return known or records_service.add_amp(
        AmpFacts(what.maker, what.model, what.serial, what.mains, ProtectionClass(what.klass), what.valves, what.covering),
        by=stage.crew.counter,
        now=stage.later(minutes=2),
    )
