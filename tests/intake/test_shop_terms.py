"""The shop's own terms: edition by edition, dated, for one jurisdiction; what was signed before keeps its text."""

from __future__ import annotations

from datetime import date

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.intake.queries import receipt as receipt_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.queries import terms as terms_queries
from app.intake.service import terms as terms_service
from app.intake.service.terms import Edition
from app.intake.terms import for_jurisdiction
from app.intake.terms.paragraphs import as_text, paragraphs_in
from app.orders.models import RepairOrder
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.intake.make import PEN, finish
from tests.pages import PageClient
from tests.people import BY

TODAY = date(2026, 3, 2)
OURS = Edition((("Care", "We look after it."), ("Storage", "AUD 2 a day from the 31st day after you were told.")), TODAY,
               "Uncollected Goods Act 1995, read by the owner")


def test_an_edition_is_in_force_for_its_jurisdiction_and_the_shipped_set_can_be_again(context: Flask) -> None:
    with transaction():
        nsw = for_jurisdiction("au-nsw")
        terms_service.write_edition(nsw, OURS, today=TODAY, by=BY, now=NOW)
        force = terms_queries.in_force("au-nsw")
        assert force.title.endswith("the shop’s own terms, edition 1") and force.checked == TODAY
        assert [one.head for one in force.paragraphs] == ["Care", "Storage"] and force.invoice == nsw.invoice
        assert terms_queries.in_force("nz") == for_jurisdiction("nz")
        terms_service.use_shipped(nsw, today=TODAY, by=BY, now=NOW)
        assert terms_queries.in_force("au-nsw") == nsw and len(terms_queries.editions("au-nsw")) == 2
        with pytest.raises(RuleBroken, match="in force already"):
            terms_service.use_shipped(nsw, today=TODAY, by=BY, now=NOW)
        assert terms_service.write_edition(nsw, OURS, today=TODAY, by=BY, now=NOW).edition == 3


@pytest.mark.parametrize(("wrong", "field"), [
    (Edition((), TODAY, "x"), "text"), (Edition((("A", "b"),) * 31, TODAY, "x"), "text"),
    (Edition((("A", "b"),), TODAY, " "), "checked_against"), (Edition((("A", "b"),), date(2026, 3, 3), "x"), "checked_on")])
def test_an_edition_needs_its_facts(context: Flask, wrong: Edition, field: str) -> None:
    with transaction(), pytest.raises(BadInput) as refused:
        terms_service.write_edition(for_jurisdiction("au-nsw"), wrong, today=TODAY, by=BY, now=NOW)
    assert refused.value.field == field


def test_text_is_read_as_paragraphs_and_written_back() -> None:
    typed = "Care.\r\nWe look\r\nafter it.\r\n \r\n\r\n\r\nCost\nYou are asked first.\n"
    assert paragraphs_in(typed) == (("Care", "We look after it."), ("Cost", "You are asked first."))
    assert paragraphs_in(as_text(paragraphs_in(typed))) == paragraphs_in(typed)
    with pytest.raises(BadInput, match="“Care” has no text"):
        paragraphs_in("Care\n\nCost\nYou are asked first.")


def test_owner_writes_an_edition_and_the_next_signature_is_under_it(app: Flask, owner: PageClient, counter: PageClient) -> None:
    with app.app_context(), transaction():
        before = finish(factories.order()).id
        after = factories.order(amp=factories.amp(serial="X2")).id
    counter.get("/shop/terms", status=403)
    page = owner.get("/shop/terms")
    assert "If it is not collected" in page.fields("/shop/terms")["text"] and "New South Wales" in page.words
    page = owner.post("/shop/terms", {"text": "Care\nWe look after <it>.", "checked_against": "the Act, by the owner"})
    assert "Edition 1 is in force" in page.words
    counter.post(f"/orders/{after}/intake/terms", {"signature": PEN})
    with app.app_context():
        assert "We look after <it>." in (sheets_queries.acceptance(after) or pytest.fail()).text
        assert "We look after" not in (sheets_queries.acceptance(before) or pytest.fail()).text
        assert receipt_queries.receipt_facts(session().get_one(RepairOrder, after)).terms_title.endswith("edition 1")
        assert the_shop().jurisdiction == "au-nsw"
    page = owner.post("/shop/terms/shipped", form_on="/shop/terms")
    assert "In force again: New South Wales, Australia" in page.words and "Edition 1" in page.words
