from __future__ import annotations

from datetime import timedelta

from flask import Flask

from app.db import transaction
from app.orders import authority
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.quote import queries
from app.quote.rules.lines import Hours
from app.quote.rules.words import HowAcknowledged, LineGroup
from app.quote.service import lines as lines_service
from tests.findings import make as bench
from tests.people import BY
from tests.quote import make
from tests.quote.make import LATER


def texts(order: RepairOrder) -> list[str]:
    return [one.text for one in missing_in(order, Stage.QUOTE)]


def test_each_thing_the_quote_lacks_is_said_in_turn(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        finding = bench.finding(order)
        assert texts(order) == [f"{finding.called} is a high risk: put it on the quote.",
                                "Draw up the quote: write its first line."]
        first = make.line(order)
        hazard = make.line(order, group=LineGroup.SAFETY, what="Replace the can", finding_id=finding.id)
        assert texts(order) == ["Issue the quote."]
        make.issue(order)
        assert texts(order) == ["Record what Wren Adler answered to revision 1 of the quote."]
        make.authorise(order, [hazard.id])
        assert texts(order) == ["Have it acknowledged in writing that this is declined: Replace the can."]
        make.acknowledge(order, queries.to_acknowledge(order)[0], how=HowAcknowledged.PAPER, signature="")
        assert texts(order) == []
        lines_service.change(order, first, make.draft(hours=Hours.one(2)), by=BY, now=LATER)
        assert texts(order) == ["Items were changed after revision 1: issue the next one."]
        make.issue(order, LATER)
        assert texts(order) == ["Record what Wren Adler answered to revision 2 of the quote."]


def test_an_order_on_which_nothing_is_agreed_goes_no_further(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        make.issue(order)
        make.authorise(order, [queries.lines(order.id)[0].id])
        assert texts(order) == ["Everything was declined. Record approval of an item, or return the amp unrepaired."]


def test_a_ceiling_that_was_withdrawn_covers_nothing(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        make.issue(order)
        answer = make.authorise(order)
        assert texts(order) == []
        authority.withdraw(answer.authority, "meant for another repair", by=BY, now=LATER)
        assert texts(order) == ["Record what Wren Adler answered to revision 1 of the quote."]


def test_a_later_lower_ceiling_no_longer_covers_the_work(context: Flask) -> None:
    from app.orders.authority import Consent
    from app.orders.models import AuthorityFor, Channel

    with transaction():
        order = make.order_at()
        make.line(order)
        make.issue(order)
        make.authorise(order)
        authority.grant(order, Consent(AuthorityFor.OTHER, "no more than this after all", 15_000, Channel.PHONE,
                                       LATER + timedelta(hours=1), "555 0199"), by=BY, now=LATER + timedelta(hours=1))
        assert texts(order) == ["What is agreed comes to AUD 202.95: record a cost limit of at least that."]


def test_a_hazard_found_after_the_answer_reopens_the_gate(context: Flask) -> None:
    with transaction():
        order = make.agreed_order()
        assert texts(order) == []
        found = bench.finding(order, severity=4, probability="c", hazard="a shock from the front panel")
        assert texts(order) == [f"Finding 1, “{found.observation}” is a serious risk: put it on the quote."]
