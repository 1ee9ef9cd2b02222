"""The return, done as the counter does it. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from app.documents import queries as papers
from app.documents import service as documents
from app.documents.rules import Kind
from app.handover import queries
from app.handover.models import CollectionNotice, ReturnSignature, UnrepairedAcknowledgement
from app.handover.notices import for_jurisdiction
from app.handover.rules import Acknowledged, Collector, HowSigned, Measure, Method, OldPartsFate, Reason, Sent
from app.handover.service import going_out as going_out_service
from app.handover.service import uncollected as uncollected_service
from app.handover.service import unrepaired as unrepaired_service
from app.journal.service import Actor
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
    going_out_service.settle(order, due_minor, due_minor, Method.CARD if due_minor else Method.NOTHING, by=by, now=now)
    going_out_service.show_working(order, True, "Marked for a load of 8 ohms.", by=by, now=now)


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
