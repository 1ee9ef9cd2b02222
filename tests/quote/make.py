"""Quotes, made as the shop makes them. Call inside `with transaction():`."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any

from app.db import session
from app.orders.models import Channel, RepairOrder
from app.orders.stages import Stage
from app.quote import queries
from app.quote.models import Authorisation, DeclinedWork, IssuedLine, Quote, QuoteLine
from app.quote.rules.lines import Draft, Hours
from app.quote.rules.words import HowAcknowledged, LineGroup, PartCondition, asked
from app.quote.service import answers as answers_service
from app.quote.service import declined as declined_service
from app.quote.service import issuing as issuing_service
from app.quote.service import lines as lines_service
from tests import factories
from tests.factories import NOW
from tests.people import BY

LATER = NOW + timedelta(hours=2)
PEN = "M40 120L60 80L90 140L130 70L170 130L230 90"


def order_at(stage: Stage = Stage.QUOTE) -> RepairOrder:
    """An order that stands at this stage: its earlier gates are not asked."""
    order = factories.order()
    order.stage = stage
    session().flush()
    return order


def draft(**given: Any) -> Draft:
    usual = {"group": LineGroup.COMPLAINT, "what": "Replace the supply capacitors", "hours": Hours.one(1.5),
             "parts": "three 47u 500 V", "parts_minor": 4200, "condition": PartCondition.NEW, "warranty_days": 90}
    return Draft(**{**usual, **given})


def line(order: RepairOrder, **given: Any) -> QuoteLine:
    made = lines_service.add(order, draft(**given), by=BY, now=NOW)
    session().flush()
    return made


def terms(**given: Any) -> issuing_service.Terms:
    return issuing_service.Terms(**{"days_to_complete": 10, "could_change": "More may show under power.", **given})


def issue(order: RepairOrder, now: datetime = NOW, **given: Any) -> Quote:
    made = issuing_service.issue(order, terms(**given), by=BY, now=now)
    session().flush()
    return made


def answer(quote: Quote, declined: Collection[int] = (), **given: Any) -> answers_service.Answer:
    """By phone two hours later: everything agreed but the lines of these ids, up to the quote's own maximum."""
    decisions = {one.id: one.line_id not in declined for one in quote.lines if asked(one.group)}
    usual = {"decisions": decisions, "ceiling_minor": quote.at_most_minor, "channel": Channel.PHONE, "agreed_at": LATER,
             "reached_at": "555 0199"}
    return answers_service.Answer(**{**usual, **given})


def authorise(order: RepairOrder, declined: Collection[int] = (), now: datetime = LATER, **given: Any) -> Authorisation:
    quote = queries.current(order)
    assert quote is not None
    made = answers_service.authorise(order, quote, answer(quote, declined, **{"agreed_at": now, **given}), by=BY, now=now)
    session().flush()
    return made


def agreed_order(**given: Any) -> RepairOrder:
    """At parts, with one line quoted and agreed to in full."""
    order = order_at(Stage.PARTS)
    line(order, **given)
    issue(order)
    authorise(order)
    return order


def paper(**given: Any) -> declined_service.Acknowledgement:
    usual = {"hazard": "Whoever touches the front panel can get a fatal shock.", "advice": "Have it done before use.",
             "made_safe": "mains lead removed, tag put on", "how": HowAcknowledged.SCREEN, "signer_name": "Wren Adler",
             "signature": PEN}
    return declined_service.Acknowledgement(**{**usual, **given})


def acknowledge(order: RepairOrder, declined: IssuedLine, **given: Any) -> DeclinedWork:
    made = declined_service.acknowledge(order, declined, paper(**given), by=BY, now=LATER)
    session().flush()
    return made
