"""The return, done as the counter does it. Call inside `with transaction():`."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from app.db import session
from app.documents import queries as papers
from app.documents import service as documents
from app.documents.rules import Kind
from app.handover import queries
from app.handover.models import CollectionNotice, ReturnSignature, UnrepairedAcknowledgement
from app.handover.notices import for_jurisdiction
from app.handover.rules import Acknowledged, Collector, HowSigned, Measure, OldPartsFate, Reason, Sent
from app.handover.service import going_out as going_out_service
from app.handover.service import uncollected as uncollected_service
from app.handover.service import unrepaired as unrepaired_service
from app.journal.service import Actor
from app.money import queries as money
from app.money import service as money_service
from app.money.rules import EntryKind, Method
from app.orders.models import RepairOrder
from tests.factories import NOW
from tests.intake.make import PEN
from tests.people import BY


def check_off(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW) -> None:
    for one, _ in queries.things(order.id):
        going_out_service.check_off(order, one, one.quantity, by=by, now=now)


def sign(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW, **given: Any) -> ReturnSignature:
    signed = going_out_service.Signed(**{"name": "Wren Adler", "who": Collector.DEPOSITOR, "how": HowSigned.SCREEN,
                                         "signature": PEN,
                               **given})
    return going_out_service.sign(order, signed, by=by, now=now)


def settle_all(order: RepairOrder, due_minor: int = 0, *, by: Actor = BY, now: datetime = NOW) -> None:
    """All sheets but the signature."""
    check_off(order, by=by, now=now)
    going_out_service.settle_old_parts(order, OldPartsFate.GIVEN_BACK, "three supply capacitors, in a bag", by=by, now=now)
    pay(order, due_minor, by=by, now=now)
    going_out_service.show_working(order, True, "Marked for a load of 8 ohms.", by=by, now=now)


def pay(order: RepairOrder, due_minor: int, *, by: Actor = BY, now: datetime = NOW) -> None:
    """So much is due and is paid by card; a bill of before is corrected down to it by a credit note, and the rest given back."""
    of = money.account(order.id)
    billed = of.repair_charged_minor
    if billed and billed != due_minor:
        money_service.credit(of.bills[0], billed - due_minor, "a part was taken back", by=by, now=now)
        session().flush()
        given_back = money_service.Entry(EntryKind.REFUND, billed - due_minor, Method.CARD, now, "as credited")
        money_service.enter(order, given_back, by=by, now=now)
        session().flush()
    paid = due_minor - money.account(order.id).balance.received_minor
    going_out_service.settle(order, due_minor, paid, Method.CARD if paid else Method.NOTHING, because="as agreed at the door",
                             by=by, now=now)


def all_back(fields: Mapping[str, Any]) -> dict[str, str]:
    """Every accessory of the sheet counted back: one of each."""
    return {name: "1" for name in fields if name.startswith("given_")}


def leaves_unrepaired(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW, **given: Any) -> None:
    usual = {"reason": Reason.DECLINED, "danger": "The front panel can become live: touching it can kill.",
             "measures": (Measure.LEAD,), "tag": "T-0031"}
    unrepaired_service.write_unrepaired(order, unrepaired_service.Leaving(**{**usual, **given}), by=by, now=now)


def acknowledge(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW, **given: Any) -> UnrepairedAcknowledgement:
    usual = {"name": "Wren Adler", "how": Acknowledged.SCREEN, "signature": PEN}
    return unrepaired_service.acknowledge(order, unrepaired_service.Acknowledging(**{**usual, **given}), by=by, now=now)


def notice(order: RepairOrder, sent_on: date, *, jurisdiction: str = "au-nsw", worth: float | None = 500, today: date | None = None,
           by: Actor = BY, now: datetime = NOW, **given: Any) -> CollectionNotice:
    rules = for_jurisdiction(jurisdiction)
    usual = {"addressed_to": "Wren Adler", "address": "9 Tollgate Row, Harrowmere", "sent_on": sent_on, "how": Sent.RECORDED,
             "ready_since": sent_on, "hours": "3 Lowgate, Harrowmere, weekdays 9 to 5", "proof": "RP 4471 882"}
    return uncollected_service.send_notice(order, uncollected_service.Letter(**{**usual, **given}), rules, rules.for_worth(worth),
                               today=today or sent_on, by=by, now=now)


def tie(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW) -> None:
    """The newest label, to the amp."""
    label = papers.newest(order.id, Kind.UNREPAIRED)
    assert label is not None
    documents.tie_label(order, label, by=by, now=now)
