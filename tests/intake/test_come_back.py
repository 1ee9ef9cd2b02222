"""A come-back costs nothing until it is judged, and the verdict has its reasoning and who pays. Common practice, no source."""

from __future__ import annotations

from datetime import date

import pytest
from flask import Flask

from app.db import session, transaction
from app.documents.papers import charges
from app.errors import BadInput, RuleBroken
from app.handover.service.come_back import come_back
from app.intake.come_back_rules import CHARGEABLE, Cover, Judgement, Payer, Verdict, cover
from app.intake.models import ComeBackVerdict
from app.intake.queries import come_back as come_back_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.service import come_back as come_back_service
from app.intake.service import sheets as sheets_service
from app.intake.service.sheets import Offer
from app.money import service as money
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.orders.warranty import Pays, who_pays
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY


def in_again() -> RepairOrder:
    first = factories.order()
    first.ended_as, first.ended_at = End.REPAIRED, NOW
    session().flush()
    return come_back(first, "the same hum", None, the_shop(), by=BY, now=NOW)


def judged(verdict: Verdict, payer: Payer, *, compared: bool = True) -> Judgement:
    return Judgement(verdict, payer, compared, "B+ reads as it left")


def test_fee_and_ceiling_are_nothing_until_it_is_unrelated(context: Flask) -> None:
    with transaction():
        order = in_again()
        offered = sheets_queries.agreement(order.id)
        assert offered and (offered.fee_minor, offered.ceiling_minor) == (0, 0)
        for fee, ceiling in ((8500, 8500), (0, 100)):
            with pytest.raises(BadInput, match="come-back after repair 1001: fee and cost limit stay at 0"):
                sheets_service.offer(order, Offer(fee, True, ceiling), by=BY, now=NOW)
        come_back_service.judge(order, judged(Verdict.OUR_PART, Payer.SUPPLIER), by=BY, now=NOW)
        with pytest.raises(BadInput, match="the supplier of the part pays"):
            sheets_service.offer(order, Offer(0, True, 100), by=BY, now=NOW)
        come_back_service.judge(order, judged(Verdict.UNRELATED, Payer.CUSTOMER), by=BY, now=NOW)
        sheets_service.offer(order, Offer(8500, True, 9000), by=BY, now=NOW)
        come_back_service.judge(order, judged(Verdict.SAME_FAULT, Payer.SHOP), by=BY, now=NOW)
        offered = sheets_queries.agreement(order.id)
        assert offered and offered.ceiling_minor == 0, "what was offered under the verdict before"
        assert len(come_back_queries.verdicts(order.id)) == 3 and session().query(ComeBackVerdict).count() == 3


def test_nobody_is_called_to_agree_to_nothing(context: Flask) -> None:
    """While fee and cost limit are 0 there is nothing to agree to; as soon as something is charged there is."""
    with transaction():
        order = in_again()
        assert sheets_queries.facts(order).agreed
        come_back_service.judge(order, judged(Verdict.UNRELATED, Payer.CUSTOMER), by=BY, now=NOW)
        session().flush()
        assert not sheets_queries.facts(order).agreed  # the customer pays: a limit is to be named and agreed to
        sheets_service.offer(order, Offer(8500, True, 9000), by=BY, now=NOW)
        session().flush()
        assert not sheets_queries.facts(order).agreed


@pytest.mark.parametrize("verdict", Verdict)
def test_the_customer_pays_only_for_what_is_not_the_shops_affair(verdict: Verdict) -> None:
    if verdict in CHARGEABLE:
        judged(verdict, Payer.CUSTOMER).checked()
        with pytest.raises(BadInput, match="Compare with the readings as left") as refused:
            judged(verdict, Payer.CUSTOMER, compared=False).checked()
        assert refused.value.field == "compared"
    else:
        with pytest.raises(BadInput, match="the customer is not charged"):
            judged(verdict, Payer.CUSTOMER).checked()


def test_a_verdict_needs_its_reasoning_and_an_order_that_came_back(context: Flask) -> None:
    with transaction():
        with pytest.raises(BadInput, match="what was found"):
            Judgement(Verdict.SAME_FAULT, Payer.SHOP, True, " ").checked()
        with pytest.raises(BadInput, match="only where a part failed"):
            judged(Verdict.SAME_FAULT, Payer.SUPPLIER).checked()
        with pytest.raises(RuleBroken, match="not a come-back"):
            come_back_service.judge(factories.order(), judged(Verdict.SAME_FAULT, Payer.SHOP), by=BY, now=NOW)


def test_warranty_ends_as_the_bill_says() -> None:
    out_on = date(2026, 3, 2)
    assert cover("valves", 90, out_on) == Cover("valves", *(charges.warranty(90, out_on) or ()))
    held = cover("valves", 90, out_on)
    assert held and held.last == date(2026, 5, 31) and held.holds(date(2026, 5, 31)) and not held.holds(date(2026, 6, 1))
    assert cover("valves", 0, out_on) is None and cover("valves", 90, None) is None


def test_what_left_stands_beside_the_complaint_and_the_bench_judges(app: Flask, counter: PageClient,
                                                                    technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = in_again()
        at = f"/orders/{order.id}/intake/come-back"
        plain = factories.order(amp=factories.amp(serial="X1")).id
    page = counter.get(at)
    assert "the same hum" in page.words and "Not judged yet." in page.words and "No reading was kept as it left." in page.words
    assert not page.all("input", name="verdict"), "the counter reads, the bench judges"
    page = technician.post(at, {"verdict": "unrelated", "payer": "the customer", "reasoning": "a new valve is broken"})
    assert "Compare with the readings as left" in page.words
    page = technician.send(at, {**page.fields(at), "compared": "y"})
    assert "Verdict: unrelated. The customer pays." in page.words
    assert "verdict: unrelated" in technician.get(at.replace("intake/come-back", "history")).words
    counter.get(f"/orders/{plain}/intake/come-back", status=404)


def test_what_is_charged_follows_the_verdict_that_counts(context: Flask) -> None:
    """Who pays is one thing, whether the counter typed it or the bench found it."""
    with transaction():
        order = in_again()
        assert who_pays(order) is Pays.OPEN
        come_back_service.judge(order, judged(Verdict.UNRELATED, Payer.CUSTOMER), by=BY, now=NOW)
        assert who_pays(order) is Pays.CUSTOMER
        for verdict, payer in ((Verdict.OUR_WORK, Payer.SHOP), (Verdict.OUR_PART, Payer.SUPPLIER)):
            come_back_service.judge(order, judged(verdict, payer), by=BY, now=NOW)
            assert who_pays(order) is Pays.SHOP
        with pytest.raises(BadInput, match="nothing is charged"):
            money.bill(order, 100, by=BY, now=NOW)


def test_nobody_is_charged_for_a_come_back_by_a_word_at_the_counter(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        first = factories.order()
        first.ended_as, first.ended_at = End.REPAIRED, NOW
        session().flush()
        with pytest.raises(BadInput, match="said by its verdict"):
            come_back(first, "the same hum", False, the_shop(), by=BY, now=NOW)
        order_id = first.id
    at = f"/orders/{order_id}/return/come-back"
    page = counter.get(at)
    assert {one.get("value") for one in page.all("input", name="warranty")} == {"yes", "open"}
    counter.send(at, {**page.fields(at), "complaint": "it hums", "warranty": "no"})
    with app.app_context():
        assert session().query(RepairOrder).count() == 1
