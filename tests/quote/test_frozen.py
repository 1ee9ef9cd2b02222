"""An issued quote keeps what it was issued with, and says at each line what was answered."""

from __future__ import annotations

from flask import Flask

from app.db import session, transaction
from app.orders.models import RepairOrder
from app.quote import queries
from app.quote.rules.lines import Hours
from app.shop.queries import the_shop
from tests.pages import PageClient
from tests.quote import make


def at(order_id: int) -> RepairOrder:
    return session().get_one(RepairOrder, order_id)


def two_items(app: Flask) -> int:
    """Revision 1 holds two items; the second is declined."""
    with app.app_context(), transaction():
        order = make.order_at()
        make.line(order, what="Replace the supply capacitors", hours=Hours.one(1), parts="", parts_minor=0, condition=None)
        second = make.line(order, what="Recover the cabinet", hours=Hours.one(2), parts="", parts_minor=0, condition=None)
        make.issue(order)
        make.authorise(order, declined={second.id})
        return order.id


def test_a_change_of_the_tax_leaves_an_issued_quote_as_it_is(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_at()
        make.line(order, hours=Hours.one(1), parts="one 47u 500 V", parts_minor=7330)
        make.issue(order)
        make.authorise(order)
        order_id = order.id
    pages = (f"/orders/{order_id}/quote", f"/orders/{order_id}/quote/revisions/1", f"/orders/{order_id}")
    before = [counter.get(page).words for page in pages]
    assert all("185.13" in words for words in before)  # (95.00 + 73.30) × 1.1, worked by hand
    with app.app_context(), transaction():
        the_shop().tax_rate_bp, the_shop().tax_name, the_shop().hourly_rate_minor = 2000, "VAT", 12_000
    after = [counter.get(page).words for page in pages]
    assert not [words for words in after if "201.96" in words or "VAT" in words or "185.13" not in words]
    assert "GST 10 %" in after[0]


def test_what_was_declined_is_in_no_later_total(app: Flask, counter: PageClient) -> None:
    order_id = two_items(app)
    with app.app_context(), transaction():
        order = at(order_id)
        make.line(order, what="Replace the bias capacitor", hours=Hours.one(1), parts="", parts_minor=0, condition=None)
        second = make.issue(order)
        assert second.net_minor == 2 * 9500  # the declined item of 190.00 is on it and not in it
        assert [one.what for one in second.lines if one.declined_before] == ["Recover the cabinet"]
    assert "Declined on revision 1" in counter.get(f"/orders/{order_id}/quote/revisions/2").words
    page = counter.get(f"/orders/{order_id}/quote/answer")
    with app.app_context(), transaction():
        order, quote = at(order_id), queries.current(at(order_id))
        assert quote is not None
        assert page.fields()[f"line_{next(one.id for one in quote.lines if one.declined_before)}"] == "declined"
        assert make.authorise(order, declined={one.line_id for one in quote.lines if one.declined_before}).net_minor == 2 * 9500


def test_declined_work_that_is_wanted_after_all_counts_again(app: Flask) -> None:
    order_id = two_items(app)
    with app.app_context(), transaction():
        order = at(order_id)
        make.line(order, what="Replace the bias capacitor", hours=Hours.one(1), parts="", parts_minor=0, condition=None)
        make.issue(order)
        assert make.authorise(order, ceiling_minor=50_000).net_minor == 4 * 9500
        make.line(order, what="Clean the sockets", hours=Hours.one(1), parts="", parts_minor=0, condition=None)
        assert make.issue(order).net_minor == 5 * 9500


def test_each_item_says_whether_it_is_agreed_or_declined(app: Flask, counter: PageClient) -> None:
    order_id = two_items(app)
    for page in (f"/orders/{order_id}/quote", f"/orders/{order_id}/quote/revisions/1"):
        rows = [" ".join("".join(one.itertext()).split()) for one in counter.get(page).all("li", class_="no-nr")]
        assert any(row.startswith("Replace the supply capacitors") and "Agreed" in row for row in rows), rows
        assert any(row.startswith("Recover the cabinet") and "Declined" in row for row in rows), rows
