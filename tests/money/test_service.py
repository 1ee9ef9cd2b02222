"""Bills, credit notes and payments as they are kept."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal.models import JournalEntry
from app.money import queries, service
from app.money.models import Bill
from app.money.rules import BillKind, EntryKind, Method
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.quote import costs
from app.shop.queries import the_shop
from tests.intake import make as counter
from tests.money import make
from tests.people import BY
from tests.quote import make as quotes


def at(order: RepairOrder) -> RepairOrder:
    return session().get_one(RepairOrder, order.id)


def test_bills_have_numbers_without_a_gap_and_are_never_changed(context: Flask) -> None:
    with transaction():
        first = make.bill(make.order_to_bill())
        with pytest.raises(BadInput):
            service.bill(quotes.order_at(), 100, by=BY, now=make.LATER)  # nothing agreed
        other = quotes.order_at()
        counter.sign(other)
        second = make.bill(other, 8500)
    assert (first.number, second.number) == (1, 2)
    for statement in (sa.update(Bill).values(total_minor=1), sa.delete(Bill)):
        with pytest.raises(Exception, match="refused"), transaction():
            session().execute(statement)


def test_a_bill_keeps_the_prices_of_its_quote(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        the_shop().tax_rate_bp, the_shop().tax_name = 2000, "VAT"
        made = make.bill(order)
    assert (made.net_minor, made.tax_minor, made.total_minor, made.tax_name) == (18_450, 1845, 20_295, "GST")
    assert [(row.what, row.minor, row.warranty_days) for row in made.rows] == [("Replace the supply capacitors", 18_450, 90)]
    assert made.to_name == "Wren Adler" and made.due_on == made.billed_on


def test_no_bill_passes_what_was_agreed_not_even_in_two(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        ceiling = queries.authority.ceiling(order.id) or 0
        make.bill(order)
        with pytest.raises(BadInput, match="more than was agreed"):
            make.bill(order, ceiling - 20_295 + 1, because="more")


def test_a_credit_note_takes_back_each_tax_to_the_last_coin(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        shop = the_shop()
        shop.second_tax_name, shop.second_tax_rate = "QST", 9975
        made = service.bill_storage(order, 11_498, "20 days at 5.00", "the signed terms of 2 Mar 2026", by=BY, now=make.LATER)
        session().flush()
        notes = [make.credit(made, one) for one in (3333, 3333, 4832)]
        for name in ("net_minor", "tax_minor", "second_tax_minor", "total_minor"):
            assert sum(getattr(one, name) for one in notes) == getattr(made, name), name
        assert [one.number for one in notes] == [1, 2, 3]
        with pytest.raises(BadInput, match="up to what is left"):
            make.credit(made, 1)


def test_storage_is_billed_only_where_it_was_disclosed(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        with pytest.raises(BadInput, match="not disclosed is not charged"):
            service.bill_storage(order, 1000, "two days", " ", by=BY, now=make.LATER)
        made = service.bill_storage(order, 1000, "two days at 5.00", "the signed terms", by=BY, now=make.LATER)
        assert made.kind is BillKind.STORAGE and queries.account(order.id).repair_charged_minor == 0
        make.bill(order)  # storage takes nothing from what was agreed for the work


def test_part_payments_go_on_after_the_amp_has_left(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        make.enter(order, 5000, EntryKind.DEPOSIT)
        make.bill(order)
        make.enter(order, 10_000)
        order.ended_as, order.ended_at = End.REPAIRED, make.LATER
        session().flush()
    today = make.LATER.date()
    assert [(one.minor, one.due_on) for one in queries.owed(today)] == [(5295, today)]
    with transaction():
        make.enter(at(order), 5000)
        with pytest.raises(BadInput, match="more than is owed"):
            make.enter(at(order), 296)
        with pytest.raises(RuleBroken, match="ended"):
            make.enter(at(order), 100, EntryKind.DEPOSIT)
        make.enter(at(order), 295, EntryKind.WRITE_OFF, note="moved away")
    assert queries.owed(today) == [] and queries.account(order.id).balance.owed_minor == 0


def test_a_struck_payment_counts_no_more_and_a_refunded_one_stays(context: Flask) -> None:
    with transaction():
        order = make.order_to_bill()
        deposit = make.enter(order, 5000, EntryKind.DEPOSIT)
        make.enter(order, 2000, EntryKind.REFUND, note="paid twice")
        with pytest.raises(RuleBroken, match="refund rests on it|Strike out the refund first"):
            service.strike(deposit, "wrong order", by=BY, now=make.LATER)
    refund = queries.account(order.id).entries[-1]
    with transaction():
        service.strike(session().merge(refund), "never paid out", by=BY, now=make.LATER)
        service.strike(session().merge(deposit), "wrong order", by=BY, now=make.LATER)
        with pytest.raises(RuleBroken, match="already"):
            service.strike(session().merge(deposit), "again", by=BY, now=make.LATER)
    assert queries.account(order.id).balance.received_minor == 0
    kept = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == "money:struck")).all()
    assert [one.reason for one in kept] == ["never paid out", "wrong order"]


def test_cash_closes_the_bill_at_the_nearest_coin(context: Flask) -> None:
    with transaction():
        the_shop().cash_step = 10
        order = make.order_to_bill()
        make.bill(order)
        entry = make.enter(order, 20_300, method=Method.CASH)
        assert (entry.amount_minor, entry.rounding_minor) == (20_300, 5)
        assert queries.account(order.id).balance.owed_minor == 0


@pytest.mark.parametrize(("warranty", "words"), [(True, "under warranty: nothing is charged"), (None, "decide first")])
def test_a_come_back_is_charged_nothing_until_it_is_found_chargeable(context: Flask, warranty: bool | None, words: str) -> None:
    with transaction():
        before = make.order_to_bill()
        order = quotes.order_at()
        counter.sign(order)
        order.come_back_of_id, order.under_warranty = before.id, warranty
        session().flush()
        assert (queries.fee(order), queries.due(order, unrepaired=True), costs.committed(order)) == (0, 0, 0)
        with pytest.raises(BadInput, match=words):
            make.bill(order, 8500)
        with pytest.raises(BadInput, match=words):
            make.enter(order, 100, EntryKind.DEPOSIT)
        quotes.line(order)
        assert quotes.issue(order).diagnosis_minor == 0
        order.under_warranty = False
        session().flush()
        assert queries.fee(order) == 8500
