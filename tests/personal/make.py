"""A customer who leaves traces everywhere that a customer can. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from app.db import session
from app.intake.rules import Looked, Zone
from app.intake.service import checking_in, danger
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service.checking_in import ComplaintFacts
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, RepairOrder
from app.orders.stages import End, Stage
from app.records.models import Customer
from app.records.spec import CustomerFacts
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand
from tests.intake import make as counter
from tests.people import BY

NAME, PHONE, EMAIL, ADDRESS = "Osric Thornbury", "+61 491 570 006", "osric@thornbury.example", "9 Tollgate Row\nHarrowmere"
EARLIER_PHONE, APPROVED_AT = "0491 570 110", "0491 570 313"
# What must be found nowhere afterwards; the pen is the beginning of the signature's path.
TRACES = ("osric", "thornbury", "491 570 006", "491570006", "570 110", "570 313", "tollgate", "nailmaker", "godson", "m40 120l60")
TOLD_WITH_NAME = "Hum heard with the customer: Osric  thornbury rang from 0491 570 006 about it."


def with_traces() -> tuple[Customer, RepairOrder]:
    """A changed number, terms that were signed, an approval by phone, notes that name them, a notice to collect."""
    facts = CustomerFacts(NAME, EARLIER_PHONE, EMAIL, ADDRESS, "godson of the landlord")
    who = records_service.add_customer(facts, by=BY, now=NOW)
    session().flush()
    records_service.change_customer(who, CustomerFacts(NAME, PHONE, EMAIL, ADDRESS, facts.note), by=BY, now=NOW)
    order = factories.order(customer=who)
    checking_in.complain(order, ComplaintFacts("“it hums”, says Osric Thornbury, “then goes quiet”"), by=BY, now=NOW)
    story.picture(order, "front", caption="as Osric Thornbury brought it")
    sheets_service.note_condition(order, Zone.FRONT, TOLD_WITH_NAME, by=BY, now=NOW)
    sheets_service.note_condition(order, Zone.REAR, "He is called Nailmaker by everybody.", by=BY, now=NOW)
    sheets_service.count(order, {"footswitch": 1}, by=BY, now=NOW)
    danger.look(order, Looked(), by=BY, now=NOW)
    counter.sign(order)
    authority.grant(order, Consent(AuthorityFor.OTHER, "a new carrier", 20000, Channel.PHONE, NOW, APPROVED_AT), by=BY, now=NOW)
    order.stage = Stage.RETURN
    hand.notice(order, date(2026, 3, 2), addressed_to=NAME, address=ADDRESS.replace("\n", ", "))
    return who, order


def ended(order: RepairOrder, at: datetime = NOW + timedelta(days=20)) -> RepairOrder:
    """Gone out: for tests that ask nothing of the gates."""
    order.ended_as, order.ended_at, order.left_shelf = End.REPAIRED, at, ""
    return order
