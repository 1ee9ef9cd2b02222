from __future__ import annotations

from flask import Flask

from app.db import transaction
from app.orders.queries import find
from app.parts import queries
from app.quote import queries as quote
from tests.pages import PageClient
from tests.parts import make
from tests.quote import make as quotes

NEED = {"what": "47u 450 V", "kind": "capacitor", "quantity": "3", "place": "C14", "needed_volts": "420",
        "rating_source": "computed at 10 % high mains"}


def agreed(app: Flask) -> tuple[int, int]:
    """An order with one agreed line, and the id of that line's first."""
    with app.app_context(), transaction():
        order = quotes.agreed_order()
        return order.id, quote.agreed_lines(order)[0].line_root_id


def test_a_part_goes_from_the_quote_to_its_place(app: Flask, technician: PageClient, counter: PageClient) -> None:
    number, line_root_id = agreed(app)
    base = f"/orders/{number}/parts"
    assert "three 47u 500 V" in technician.get(base).words
    page = technician.post(f"{base}/new", {**NEED, "line_root_id": str(line_root_id), "needed_volts": "0k42"})
    assert "Its place asks for 420 V" in page.words
    part = page.all("li", id="part-1")[0].get("id", "").removeprefix("part-")
    page = counter.post(f"{base}/{part}/order", {"supplier": "Brackwater", "ordered_minor": "100"})
    assert "too much" in page.words and page.title.startswith("Error: ")
    page = counter.post(f"{base}/{part}/order", {"supplier": "Brackwater", "ordered_minor": "42", "expected_on": "2026-03-20"})
    assert "expected 20 Mar 2026" in page.words
    arrived = {"condition": "new", "rated_volts": "400", "test": "passed", "test_words": "46u"}
    page = technician.post(f"{base}/{part}/receive", arrived)
    assert "C14 needs 420 V; this part is rated 400 V." in page.words
    page = technician.post(f"{base}/{part}/receive", {**arrived, "rated_volts": "450"})
    assert "marked 450 V" in page.words
    page = technician.post(f"{base}/{part}/fit", {})
    assert "Fitted at C14 by Ines" in page.words
    assert "47u 450 V" in technician.get(f"/orders/{number}").words


def test_refusals_stand_beside_their_fields(app: Flask, technician: PageClient) -> None:
    number, _ = agreed(app)
    page = technician.post(f"/orders/{number}/parts/new", {**NEED, "needed_volts": "", "quantity": "0"})
    assert "Enter from 1 to 999." in page.words
    page = technician.post(f"/orders/{number}/parts/new", {**NEED, "needed_volts": ""})
    assert "Enter the most volts that its place can see." in page.words


def test_two_people_on_one_part_notice_each_other(app: Flask, technician: PageClient, owner: PageClient) -> None:
    number, _ = agreed(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        part = make.part(order).id
    path = f"/orders/{number}/parts/{part}/change"
    mine, theirs = technician.get(path).fields(), owner.get(path).fields()
    owner.send(path, {**theirs, "quantity": "4"})
    page = technician.send(path, {**mine, "quantity": "5"}, status=409)
    assert "How many" in page.words and "4" in page.words and "5" in page.words


def test_a_part_is_dropped_with_a_reason(app: Flask, technician: PageClient) -> None:
    number, _ = agreed(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        part = make.part(order).id
    path = f"/orders/{number}/parts/{part}/drop"
    technician.post(path, {"reason": ""})
    page = technician.post(path, {"reason": "the old ones measure as new"})
    assert "the old ones measure as new" in page.words
    with app.app_context():
        found = queries.find(part)
        assert found is not None and not found.is_open
    technician.post(f"/orders/{number}/parts/{part}/fit", {}, status=409)


def test_a_refused_delivery_is_sent_back_and_ordered_again_by_the_pages(app: Flask, technician: PageClient) -> None:
    number, thread = agreed(app)
    base = f"/orders/{number}/parts"
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        part = make.part(order, thread).id
    technician.post(f"{base}/{part}/order", {"supplier": "Brackwater", "ordered_minor": "42"})
    came = {"condition": "new", "rated_volts": "350", "test": "looked at only", "batch": "2540"}
    page = technician.post(f"{base}/{part}/receive", came)
    assert "Do not fit it" in page.words and page.fields()["batch"] == "2540"
    page = technician.send(f"{base}/{part}/receive", {**page.fields(), **came, "kept": "sent back"})
    assert "Enter why it is sent back." in page.words
    page = technician.send(f"{base}/{part}/receive", {**page.fields(), **came, "kept": "sent back",
                                                      "sent_back_reason": "350 V instead of 450 V"})
    assert "Every part that is called for is here" not in page.words and "order the same again" in page.words
    assert "batch 2540" in page.words and "Not charged" in page.words and "350 V instead of 450 V" in page.words
    again = f"{base}/{part}/again"
    assert again in page.links()
    page = technician.post(again, {})
    assert "Order 3 × 47u 450 V for C14" in page.words and again not in page.links()
    technician.post(again, {}, status=409)


def test_a_part_planned_away_is_not_said_to_be_here(app: Flask, technician: PageClient) -> None:
    number, thread = agreed(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        part = make.part(order, thread).id
    page = technician.post(f"/orders/{number}/parts/{part}/drop", {"reason": "the old ones measure as new"})
    assert "No part is called for any more: the work is planned again." in page.words
    assert "is here" not in page.words
