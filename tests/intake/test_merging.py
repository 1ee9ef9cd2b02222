"""Two records of one customer or amp become one with both histories; an order opened by mistake is void."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.intake.queries import search as search_queries
from app.intake.queries.sheets import facts
from app.intake.rules import missing_items
from app.intake.service import checking_in, merging
from app.journal import service as journal
from app.journal.models import JournalEntry
from app.orders import queries as order_queries
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.records.models import Amp, Customer
from app.search.service import differences
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.intake.make import finish
from tests.pages import PageClient
from tests.people import BY


def two_customers() -> tuple[Customer, Customer, RepairOrder, RepairOrder]:
    kept = factories.customer("Åsa Lindqvist", phone="0491 570 156")
    double = factories.customer("Asa Lindquist", phone="", email="asa@lind.example")
    first, second = factories.order(customer=kept), factories.order(customer=double, amp=factories.amp(serial="MX-78"))
    session().flush()
    return kept, double, first, second


def test_merged_customer_has_the_repairs_of_both_and_is_found_by_either(context: Flask) -> None:
    with transaction():
        kept, double, first, second = two_customers()
    with transaction():
        merging.merge_customers(kept, double, "same voice, same van", by=BY, now=NOW)
    assert {one.id for one in search_queries.orders_of_customer(kept.id)} == {first.id, second.id}
    assert kept.email == "asa@lind.example" and kept.phone == "0491 570 156"
    assert search_queries.orders_of_customer(double.id) == [] and double.name == "Asa Lindquist"
    for typed in ("lindquist", "asa@lind.example", "570 156", "MX-78"):
        assert [one.id for one in search_queries.records(typed).customers] == [kept.id], typed
    assert double not in search_queries.records("").customers
    entries = [(one.subject_id, one.reason) for one in session().query(JournalEntry).filter_by(event="customer:merged")]
    assert entries == [(double.id, "same voice, same van"), (kept.id, "same voice, same van")]
    named = session().query(JournalEntry).filter_by(event="order:people_named", order_id=second.id).one()
    assert "same voice, same van" in named.reason
    assert journal.verify() == [] and list(differences(session())) == []


def test_merged_amp_has_the_repairs_of_both_and_two_in_the_house_are_refused(context: Flask) -> None:
    with transaction():
        kept, double = factories.amp(serial="MX-77"), factories.amp(serial="MX-77 ")
        first = factories.order(amp=kept)
        second = factories.order(amp=double, customer=first.depositor)
        session().flush()
        with pytest.raises(RuleBroken, match="Both are checked in, as repair 1001 and repair 1002"):
            merging.merge_amps(kept, double, "same plate", by=BY, now=NOW)
        orders.void(second, "checked in twice", by=BY, now=NOW)
        merging.merge_amps(kept, double, "same plate", by=BY, now=NOW)
    assert [one.number for one in search_queries.orders_of_amp(kept.id)] == [1002, 1001]
    assert [one.id for one in search_queries.records("MX-77").amps] == [kept.id] and list(differences(session())) == []


def test_records_merged_before_follow_and_a_merged_one_is_not_merged_again(context: Flask) -> None:
    with transaction():
        a, b, c = (factories.customer(name) for name in ("A", "B", "C"))
        merging.merge_customers(b, c, "same", by=BY, now=NOW)
        merging.merge_customers(a, b, "same", by=BY, now=NOW)
        assert b.merged_into_id == c.merged_into_id == a.id
        with pytest.raises(RuleBroken, match="merged already"):
            merging.merge_customers(a, c, "same", by=BY, now=NOW)
        with pytest.raises(BadInput, match="another record"):
            merging.merge_customers(a, a, "same", by=BY, now=NOW)
        with pytest.raises(BadInput, match="how you know"):
            merging.merge_customers(a, factories.customer("D"), " ", by=BY, now=NOW)


def test_merging_by_the_page_and_only_by_counter_or_owner(app: Flask, counter: PageClient, technician: PageClient) -> None:
    with app.app_context(), transaction():
        kept, double, _, second = (one.id for one in two_customers())
    at = f"/customers/{kept}/merge"
    technician.get(at, status=403)
    assert at in counter.get(f"/customers/{kept}").links() and at not in technician.get(f"/customers/{kept}").links()
    assert "No other record is known by that." in counter.get(at).words
    page = counter.get(f"{at}?q=lindquist")
    fields = {**page.fields(at), "q": "lindquist", "double_id": str(double)}
    assert "Enter how you know that both are the same." in counter.send(at, fields).words
    page = counter.send(at, {**page.fields(at), "double_id": str(double), "reason": "same number"})
    assert "Merged into this record: Asa Lindquist" in page.words and "1002" in page.words
    assert "Open the record that was kept" in counter.get(f"/customers/{double}").words
    assert "merged into: Åsa Lindqvist" in counter.get(f"/history/customer/{double}").words
    assert "Åsa Lindqvist" in counter.get(f"/orders/{second}").words


def test_amps_are_merged_by_their_page(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        kept, double = factories.amp(serial="MX-77").id, factories.amp(serial="mx 77").id
    at = f"/amps/{kept}/merge"
    page = counter.post(at, {"double_id": str(double), "reason": "one plate"})
    assert "Merged into this record: Tarnholt Meridian 30, serial mx 77" in page.words
    with app.app_context():
        assert session().get_one(Amp, double).merged_into_id == kept


def test_void_order_keeps_its_number_and_leaves_the_lists_of_open_work(app: Flask, counter: PageClient,
                                                                       technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order_id, amp_id = order.id, order.amp_id
    at = f"/orders/{order_id}/intake/void"
    technician.get(at, status=403)
    assert "Enter why this order is void." in counter.post(at, {"reason": " "}).words
    page = counter.post(at, {"reason": "opened twice by two of us"})
    assert "Void: opened by mistake" in page.words
    assert "because: opened twice by two of us" in counter.get(f"/orders/{order_id}/history").words
    assert "1001" not in counter.get("/").words
    with app.app_context(), transaction():
        assert order_queries.open_orders() == []
        assert session().get_one(RepairOrder, order_id).ended_as is End.VOID
        again = factories.order(amp=session().get_one(Amp, amp_id))
        assert again.number == 1002, "a number is never given twice"
    assert "Check the amp in again" in counter.get(f"/orders/{order_id}/return/come-back", status=409).words


def test_only_an_order_that_never_left_the_counter_can_be_void(context: Flask) -> None:
    with transaction():
        order = finish(factories.order())
        orders.move_on(order, by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="has left intake"):
            orders.void(order, "a mistake", by=BY, now=NOW)


def test_nothing_is_merged_with_somebody_who_was_erased(context: Flask) -> None:
    """The erased record would hold a name's number and address again, or the repairs of somebody erased get a name."""
    with transaction():
        gone, there = factories.customer("Erased person 7"), factories.customer("Bo Quill", phone="0491 570 157")
        gone.phone, gone.address, gone.erased_at = "", "erased", NOW
        session().flush()
        for kept, double in ((gone, there), (there, gone)):
            with pytest.raises(RuleBroken, match="was erased"):
                merging.merge_customers(kept, double, "same amp", by=BY, now=NOW)
        assert gone.phone == "" and gone.merged_into_id is there.merged_into_id is None


def test_a_record_that_was_merged_stands_for_nobody_in_a_new_order(app: Flask, counter: PageClient) -> None:
    """Two tablets: one has the page open with the other record while it is merged."""
    with app.app_context(), transaction():
        kept, double, first, _ = two_customers()
        merging.merge_customers(kept, double, "same voice", by=BY, now=NOW)
        amp = factories.amp(serial="MX-90")
        old = factories.amp(serial="MX-91")
        merging.merge_amps(amp, old, "same plate", by=BY, now=NOW)
        session().flush()
        with pytest.raises(BadInput, match="was merged into another one"):
            factories.order(customer=double, amp=amp)
        with pytest.raises(BadInput, match="record of the amp was merged"):
            checking_in.check_in(checking_in.CheckIn(kept, old, "it hums"), the_shop(), by=BY, now=NOW)
        people = checking_in.People(double, kept, kept)
        with pytest.raises(BadInput, match="was merged into another one"):
            checking_in.name_people(first, people, by=BY, now=NOW)
        first_id, kept_id, double_id = first.id, kept.id, double.id
    at = f"/orders/{first_id}/intake/people"
    roles = {"depositor_id": str(kept_id), "owner_id": str(kept_id), "authority_id": str(double_id)}
    page = counter.send(at, {**counter.get(at).fields(at), **roles})
    assert "was merged into another one. Choose the record that was kept." in page.words


def test_intake_asks_again_where_who_signed_or_agreed_is_not_named_any_more(context: Flask) -> None:
    with transaction():
        order = finish(factories.order())
        wren, other, kept = order.depositor, factories.customer("Bo Quill"), factories.customer("Wren A. Adler")

        def lacks() -> set[str]:
            session().flush()
            return {one.part for one in missing_items(facts(order))} & {"terms", "money"}

        def name(depositor: Customer, owner: Customer, authority: Customer) -> None:
            checking_in.name_people(order, checking_in.People(depositor, owner, authority), by=BY, now=NOW)

        assert lacks() == set()
        name(wren, other, other)
        assert lacks() == {"money"}
        name(other, other, other)
        assert lacks() == {"terms"}  # and after it, the agreement
        name(wren, other, wren)
        merging.merge_customers(kept, wren, "same person", by=BY, now=NOW)
        assert lacks() == set(), "it is the same person still"
