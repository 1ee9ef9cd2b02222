"""Words of the money that must not stand without what proves them: paid, owed, overdue, agreed, void, under warranty."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from flask import Flask

from app.db import session, transaction
from app.documents.models import PAGE, IssuedDocument
from app.documents.papers import payment
from app.documents.rules import Kind
from app.errors import BadInput, GateClosed
from app.handover import queries as handover
from app.handover.rules import missing_items
from app.handover.service import going_out
from app.intake.service import checking_in, merging
from app.money import period, queries, service
from app.money.models import MoneyEntry
from app.money.rules import EntryKind, Method, owed_since
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from app.parts import service as parts
from app.photos.store import the_store
from app.records.models import Customer
from app.shop.queries import the_shop
from tests import factories
from tests.intake import make as counter_make
from tests.money import make
from tests.pages import PageClient
from tests.parts import make as parts_make
from tests.people import BY
from tests.quote import make as quotes


def plain(page: object) -> str:
    return str(getattr(page, "words", "")).replace("\u00a0", " ")


def approved_by(order: RepairOrder, who: Customer) -> None:
    checking_in.name_people(order, checking_in.People(order.depositor, order.owner, who), by=BY, now=make.LATER)
    session().flush()


def storage(order: RepairOrder, minor: int, days: int = 0) -> None:
    service.bill_storage(order, minor, "days at 5.00", "the signed terms", by=BY, now=make.LATER + timedelta(days=days))
    session().flush()


def test_nobody_is_billed_for_what_another_agreed_to(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        other, double = factories.customer("Bo Quill"), factories.customer("B. Quill")
        approved_by(order, double)
        with pytest.raises(BadInput, match="Wren Adler agreed to the cost, and B. Quill would be billed"):
            make.bill(order)
        quotes.authorise(order, now=make.LATER)
        merging.merge_customers(other, double, "same number", by=BY, now=make.LATER)  # who agreed is the same person still
        session().flush()
        assert make.bill(order).to_name == "Bo Quill"


def test_a_bill_stays_with_whom_it_is_to_whoever_approves_cost_after_it(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        wren, other, kept = order.authority, factories.customer("Bo Quill"), factories.customer("Wren A. Adler")
        bill = make.bill(order)
        make.credit(bill, 1000)
        entry = make.enter(order, 5000)
        approved_by(order, other)
        today = make.LATER.date() + timedelta(days=1)
        assert len(period.lines_until(today, wren.id)) == 3 and period.lines_until(today, other.id) == []
        assert [one.customer.id for one in queries.owed(today)] == [wren.id] and queries.owed(today, other.id) == []
        receipt = payment.facts(order, entry.id)
        assert receipt is not None and receipt.name == "Wren Adler"
        merging.merge_customers(kept, wren, "same person", by=BY, now=make.LATER)
        session().flush()
        assert len(period.lines_until(today, kept.id)) == 3 and len(period.lines_until(today)) == 3
        assert [one.customer.id for one in queries.owed(today, kept.id)] == [kept.id]


@pytest.mark.parametrize(("charged", "covered", "since"), [
    ([(1, 100), (40, 50)], 0, 1), ([(40, 50), (1, 100)], 99, 1), ([(1, 100), (40, 50)], 100, 40), ([(1, 0), (40, 50)], 0, 40)])
def test_what_is_paid_counts_for_what_was_due_first(charged: list[tuple[int, int]], covered: int, since: int) -> None:
    """Common practice, no source."""
    first = date(2026, 1, 1)
    assert owed_since([(first + timedelta(days=day), minor) for day, minor in charged], covered) == first + timedelta(days=since)
    with pytest.raises(ValueError, match="nothing is owed"):
        owed_since([(first, 100)], 100)


def test_a_bill_that_is_paid_makes_no_later_one_overdue(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        bill = make.bill(order)
        make.enter(order, 20_295)
        storage(order, 1000, days=100)
        later = queries.account(order.id).bills[1]
        assert later.due_on > bill.due_on
        (owed,) = queries.owed(later.due_on)
        assert (owed.due_on, owed.age, owed.minor) == (later.due_on, 0, 1000)


def test_storage_is_no_part_of_what_was_agreed_for_the_work(context: Flask) -> None:
    """It can be above what was agreed, was disclosed, and must not keep an amp in the house for good."""
    with transaction():
        order = make.order_to_bill()
        storage(order, 90_000)
        going_out.settle(order, 20_295, 0, Method.NOTHING, "paid by transfer next week", by=BY, now=make.LATER)
        session().flush()
        assert [one.text for one in missing_items(handover.facts(order)) if one.part == "sums"] == []


def test_what_is_billed_and_then_found_under_warranty_is_credited_first(context: Flask) -> None:
    with transaction():
        before, order = make.order_to_bill(), make.order_to_bill()
        order.come_back_of_id, order.under_warranty = before.id, False
        session().flush()
        going_out.settle(order, 20_295, 20_295, Method.CARD, by=BY, now=make.LATER)
        session().flush()
        assert not [one for one in missing_items(handover.facts(order)) if one.part == "sums"]
        order.under_warranty = True
        session().flush()
        (lack,) = [one for one in missing_items(handover.facts(order)) if one.part == "sums"]
        assert "under warranty" in lack.text and "credit note" in lack.text
        make.credit(queries.account(order.id).bills[0], 20_295, "it is under warranty")
        make.enter(order, 20_295, EntryKind.REFUND, note="as credited")
        going_out.settle(order, 0, 0, Method.NOTHING, by=BY, now=make.LATER)
        session().flush()
        assert not [one for one in missing_items(handover.facts(order)) if one.part == "sums"]


def test_what_is_owed_or_held_is_said_whoever_pays_for_the_work(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        before, order = make.order_to_bill(), make.order_to_bill()
        make.enter(order, 3000, EntryKind.DEPOSIT)
        order.come_back_of_id, order.under_warranty = before.id, True
        session().flush()
        order_id = order.id
    assert "AUD 30.00 is held as a deposit." in plain(counter.get(f"/orders/{order_id}/money"))
    with app.app_context(), transaction():
        storage(session().get_one(RepairOrder, order_id), 5000)
    words = plain(counter.get(f"/orders/{order_id}/money"))
    assert "AUD 20.00 is owed." in words and "billed for the work all the same" not in words


def test_a_place_where_only_agreed_sums_hold_an_amp_is_told_what_storage_does(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        the_shop().jurisdiction = "us-ca"
        order = make.order_to_bill()
        make.bill(order)
        order_id = order.id
    at = f"/orders/{order_id}/money"
    first = plain(counter.get(at))
    with app.app_context(), transaction():
        storage(session().get_one(RepairOrder, order_id), 90_000)
    second = plain(counter.get(at))
    assert "What is billed is within what was agreed." in first and "more than was agreed" not in first
    assert "storage included, is more than was agreed" in second and "within what was agreed" not in second


def at_the_counter(order: RepairOrder) -> RepairOrder:
    order.stage = Stage.INTAKE
    session().flush()
    return order


def test_no_order_is_void_while_money_of_it_is_held_or_owed(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        counter_make.sign(order)
        make.enter(order, 5000, EntryKind.DEPOSIT)
        order_id = order.id
    at = f"/orders/{order_id}/intake/void"
    page = counter.post(at, {"reason": "opened twice"}, status=409)
    assert "AUD 50.00 of the customer’s is held" in plain(page) and f"/orders/{order_id}/money" in page.links()
    with app.app_context(), transaction():
        order = session().get_one(RepairOrder, order_id)
        make.enter(order, 5000, EntryKind.REFUND, note="opened twice")
        storage(order, 1000)
        with pytest.raises(GateClosed) as refused:
            orders.void(order, "opened twice", by=BY, now=make.LATER)
        assert "AUD 10.00 is owed" in refused.value.missing[0].text.replace("\u00a0", " ")
        make.credit(queries.account(order.id).bills[0], 1000)
        orders.void(order, "opened twice", by=BY, now=make.LATER)
        assert order.ended_as is End.VOID


def test_no_order_is_void_while_parts_of_it_are_on_their_way(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        line = quotes.queries.agreed_lines(order)[0]
        part = parts_make.part(order, line.line_root_id)
        parts.order_part(order, part, parts_make.bought(), by=BY, now=make.LATER)
        with pytest.raises(GateClosed) as refused:
            orders.void(at_the_counter(order), "opened twice", by=BY, now=make.LATER)
        assert "was ordered for this repair" in refused.value.missing[0].text
        parts.drop(order, part, "not wanted", by=BY, now=make.LATER)
        session().flush()
        orders.void(order, "opened twice", by=BY, now=make.LATER)


def test_a_day_at_the_calendar_s_end_is_refused_in_words(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        make.bill(order)
        order_id = order.id
    for day in ("0001-01-01", "9999-12-31"):
        page = counter.post(f"/orders/{order_id}/money/new/payment",
                            {"amount_minor": "5", "method": "card", "paid_on": day, "paid_at": "00:00"})
        assert "Enter a day from 1900 to 2199." in plain(page), day
    with app.app_context():
        assert queries.account(order_id).entries == []


def test_a_receipt_whose_payment_was_struck_out_says_so(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        make.bill(order)
        entry = make.enter(order, 5000)
        made = receipt_of(entry)
        document_id, entry_id = made.id, entry.id
    assert "struck out" not in plain(counter.get(f"/papers/{document_id}"))
    with app.app_context(), transaction():
        service.strike(session().get_one(MoneyEntry, entry_id), "the card was refused", by=BY, now=make.LATER)
    words = plain(counter.get(f"/papers/{document_id}"))
    assert "The payment was struck out and does not count any more: the card was refused" in words


def receipt_of(entry: MoneyEntry) -> IssuedDocument:
    sha = the_store().put(b"<article class=doc><h1>Receipt</h1></article>")
    made = IssuedDocument(order_id=entry.order_id, kind=Kind.PAYMENT, about_id=entry.id, revision=1, sha256=sha, page_sha256=sha,
                          facts_sha256=sha, media_type=PAGE, size=45, journal_hash=sha, issued_at=make.LATER, issued_by="Mara")
    session().add(made)
    session().flush()
    return made


def test_a_customer_s_page_leads_to_their_statement_and_a_merged_one_s_to_that_of_the_record_kept(
        app: Flask, counter: PageClient, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        make.bill(order)
        double_id, kept = order.authority_id, factories.customer("Wren A. Adler")
        merging.merge_customers(kept, order.authority, "same person", by=BY, now=make.LATER)
        kept_id = kept.id
    assert f"/money/statements/{kept_id}" in counter.get(f"/customers/{kept_id}").links()
    assert f"/money/statements/{kept_id}" not in technician.get(f"/customers/{kept_id}").links()
    assert f"/money/statements/{double_id}" not in counter.get(f"/customers/{double_id}").links()
    words = plain(counter.get(f"/money/statements/{double_id}"))
    assert "Statement of Wren A. Adler" in words and "AUD 202.95" in words
