"""What fell through at the door: fees never asked for, counts that nobody counted, parts that were left out."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput
from app.handover import queries
from app.handover.rules import Measure, OldPartsFate
from app.handover.service import going_out
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand
from tests.pages import PageClient
from tests.people import BY
from tests.removals.make import removal


def order_of(order_id: int) -> RepairOrder:
    return session().get_one(RepairOrder, order_id)


def test_no_count_and_no_payment_stands_there_before_somebody_entered_it(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = story.repaired(story.quoted(story.taken_in())).id
    at = f"/orders/{order_id}/return"
    counts = {name: value for name, value in counter.get(f"{at}/accessories").fields().items() if name.startswith("given_")}
    assert len(counts) == 2 and set(counts.values()) == {""}
    sums = counter.get(f"{at}/sums").fields()
    assert (sums["paid_minor"], sums.get("method")) == ("", None)
    page = counter.post(f"{at}/accessories", {})
    assert "Count the footswitch" in page.words
    page = counter.post(f"{at}/sums", {})
    assert "Enter what was paid, 0 for nothing." in page.words and "Choose how it was paid" in page.words


def test_an_amp_that_leaves_unrepaired_is_asked_for_its_diagnosis_fee(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = story.taken_in()  # a fee of 85.00 was agreed at the counter
        hand.leaves_unrepaired(order)
        hand.check_off(order)
        going_out.settle_old_parts(order, OldPartsFate.NONE, by=BY, now=NOW)
        order_id = order.id
        assert "handover.sums" in [one.endpoint for one in missing_in(order, End.UNREPAIRED)]
    at = f"/orders/{order_id}/return"
    page = counter.get(f"{at}/unrepaired")
    assert "AUD 85.00 is due" in page.words.replace("\u00a0", " ")
    assert counter.get(f"{at}/sums").fields()["due_minor"] == "85.00"
    page = counter.post(f"{at}/sums", {"paid_minor": "85", "method": "card"})
    assert "Due AUD 85.00, paid AUD 85.00" in counter.get(f"{at}/unrepaired/acknowledge").words.replace("\u00a0", " ")
    with app.app_context():
        assert "handover.sums" not in [one.endpoint for one in missing_in(order_of(order_id), End.UNREPAIRED)]


def test_pieces_that_are_still_off_are_said_when_it_leaves_unrepaired(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.TEARDOWN
        removal(order, "B1", name="back panel")
        hand.leaves_unrepaired(order, measures=(Measure.LEAD,))
        order_id = order.id
        assert "Still off the amp, and given with it: back panel B1." in queries.text_to_acknowledge(order)
    assert "back panel B1" in counter.get(f"/orders/{order_id}/return/unrepaired").words


def test_none_came_out_is_refused_where_parts_were_fitted(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))  # a fuse carrier was fitted, its old one never recorded
    with pytest.raises(BadInput, match="carrier and T 1.6 A fuse"), transaction():
        going_out.settle_old_parts(order_of(order.id), OldPartsFate.NONE, by=BY, now=NOW)
    with transaction():
        going_out.settle_old_parts(order_of(order.id), OldPartsFate.NONE, "the place was empty", by=BY, now=NOW)


def test_old_parts_that_were_asked_for_stand_above_the_question(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = story.repaired(story.quoted(story.taken_in())).id
    words = counter.get(f"/orders/{order_id}/return/old-parts").words
    assert "given back to the customer" in words and "the oxblood cloth" in words


def test_uncollected_is_offered_once_the_amp_is_ready(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = story.taken_in()
        order_id = order.id
    for page in (f"/orders/{order_id}", f"/orders/{order_id}/return"):
        words = counter.get(page).words
        assert "Uncollected amp" not in words and "Return unrepaired" in words
        assert "needs why it leaves, what keeps it from being switched on" in words
    with app.app_context(), transaction():
        order_of(order_id).stage = Stage.RETURN
    assert "Uncollected amp" in counter.get(f"/orders/{order_id}").words
