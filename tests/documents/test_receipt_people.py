"""Whom the depositor's receipt names, and what of them it does not tell: its reader is the depositor alone."""

from __future__ import annotations

from pathlib import Path

from flask import Flask

from app.db import session, transaction
from app.documents.paper import paper
from app.documents.rules import Kind
from app.intake.queries.receipt import receipt_facts
from app.orders.models import RepairOrder
from app.photos.store import the_store
from tests import factories
from tests.documents.test_papers import issue, words_of

OTHERS = {"Sefton Marsh": "+61 491 570 156", "Iona Kell": "+61 491 570 157"}


def an_order() -> RepairOrder:
    """One that Wren Adler left, for an owner, with a third who approves its cost."""
    with transaction():
        order = factories.order(customer=factories.customer(phone="+61 491 570 158", email="wren@adler.example"))
        owner, approver = (factories.customer(name, phone=phone, email=f"{name.split()[0].lower()}@kell.example",
                                              address="9 Weir Street") for name, phone in OTHERS.items())
        order.owner_id, order.authority_id = owner.id, approver.id
        return order


def test_receipt_tells_no_way_to_reach_owner_or_approver(context: Flask, tmp_path: Path) -> None:
    """What its reader has no need of is not given out: data minimisation, GDPR article 5(1)(c), from memory."""
    told = words_of(the_store().get(issue(an_order(), Kind.RECEIPT).sha256), tmp_path)
    assert "+61 491 570 158" in told and "wren@adler.example" in told  # the depositor's own stand there to be checked
    for name, phone in OTHERS.items():
        assert name in told
        assert phone not in told and phone.replace(" ", "") not in told.replace(" ", "")
    assert "kell.example" not in told and "Weir Street" not in told


def test_the_screen_says_what_the_paper_says(context: Flask) -> None:
    page = paper(session().get_one(RepairOrder, an_order().id), Kind.RECEIPT).page
    assert all(name in page and phone not in page for name, phone in OTHERS.items())


def test_two_people_of_one_name_are_two(context: Flask) -> None:
    """“the same” is said of one record, not of one name."""
    with transaction():
        order = factories.order(customer=factories.customer(phone="", address="1 Weir Street"))
        order.owner_id = factories.customer(phone="", address="2 Weir Street").id
    told = receipt_facts(session().get_one(RepairOrder, order.id))
    assert told.owner != told.depositor and told.authority_holder == told.depositor
