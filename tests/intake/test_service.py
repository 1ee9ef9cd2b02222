"""The counter's records on both engines: the gate by the spine, the authority ledger, what the database refuses."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from sqlalchemy.exc import IntegrityError

from app.db import session, transaction
from app.errors import BadInput, GateClosed, RuleBroken
from app.intake.models import Accessory, FirstLook, HowSigned
from app.intake.queries import sheets as sheets_queries
from app.intake.rules import Looked
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service.sheets import Offer
from app.orders import authority, power
from app.orders import service as orders
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, Quarantine
from app.photos.queries import of_order
from app.photos.service import strike
from app.records.models import Customer
from app.records.spec import CustomerFacts
from tests import factories
from tests.factories import NOW
from tests.intake.make import finish, sign
from tests.people import BY

LATER = NOW + timedelta(days=1)


def test_gate_opens_only_when_everything_is_there_and_closes_again(context: Flask) -> None:
    with transaction():
        order = factories.order()
        with pytest.raises(GateClosed) as closed:
            orders.move_on(order, by=BY, now=NOW)
        assert [one.endpoint for one in closed.value.missing] == [
            "intake.complaint", "intake.amp", "intake.condition", "intake.accessories", "intake.look", "intake.terms"]
        finish(order)
        strike(of_order(order.id)[0], reason="wrong amp", by=BY, now=NOW)
        with pytest.raises(GateClosed) as closed:
            orders.move_on(order, by=BY, now=NOW)
        assert [one.endpoint for one in closed.value.missing] == ["intake.condition"]


def test_raised_fee_must_be_signed_again(context: Flask) -> None:
    with transaction():
        order = finish(factories.order())
        sheets_service.offer(order, Offer(9900, True, 12000), by=BY, now=NOW)
        with pytest.raises(GateClosed, match="not finished"):
            orders.move_on(order, by=BY, now=NOW)
        sign(order, how=HowSigned.PAPER)
        orders.move_on(order, by=BY, now=NOW)


def test_signed_text_is_kept_with_its_hash(context: Flask) -> None:
    with transaction():
        order = factories.order()
        sign(order)
        kept = sheets_queries.acceptance(order.id)
        assert kept and kept.text_sha256 == hashlib.sha256(kept.text.encode()).hexdigest()
        assert "AUD 85.00" in kept.text


def test_diagnosis_agreed_later_never_lowers_what_was_agreed_for_the_repair(context: Flask) -> None:
    with transaction():
        order = factories.order()
        assert authority.ceiling(order.id) is None
        sign(order)
        assert authority.ceiling(order.id) == 12000
        consent = Consent(AuthorityFor.QUOTE, "quote revision 1", 64000, Channel.PHONE, NOW, "555 0199")
        quoted = authority.grant(order, consent, by=BY, now=NOW)
        sign(order)
        assert authority.ceiling(order.id) == 64000
        authority.withdraw(quoted, "wrong number called", by=BY, now=LATER)
        assert authority.ceiling(order.id) == 12000 and len(authority.ledger(order.id)) == 3


@pytest.mark.parametrize(("wrong", "field"), [
    ({"reached_at": " "}, "reached_at"), ({"ceiling_minor": -1}, "ceiling_minor"), ({"what_for": ""}, "what_for"),
    ({"agreed_at": NOW + timedelta(hours=1)}, "agreed_at")])
def test_consent_by_phone_needs_its_facts(context: Flask, wrong: dict[str, Any], field: str) -> None:
    # What a note of oral consent holds: 16 CCR 2722(a) (date, time, who, number called, what for, total).
    given = {"covers": AuthorityFor.QUOTE, "what_for": "quote", "ceiling_minor": 1, "channel": Channel.PHONE,
             "agreed_at": NOW, "reached_at": "555 0199"}
    with transaction():
        order = factories.order()
        with pytest.raises(BadInput) as refused:
            authority.grant(order, Consent(**{**given, **wrong}), by=BY, now=NOW)
        assert refused.value.field == field


def test_uncounting_keeps_the_row_and_nothing_at_all_is_a_count(context: Flask) -> None:
    with transaction():
        order = factories.order()
        sheets_service.count(order, {"cover": 1, "a strap": 2}, by=BY, now=NOW)
        sheets_service.count(order, {}, by=BY, now=LATER)
        assert sheets_queries.accessories(order.id) == [] and sheets_queries.counted(order.id)
        assert session().scalar(sa.select(sa.func.count()).select_from(Accessory)) == 2


def test_quarantine_stands_once_and_outlives_a_second_look(context: Flask) -> None:
    with transaction():
        order = factories.order()
        danger_service.impound(order, "wet", by=BY, now=NOW)
        with pytest.raises(RuleBroken):
            danger_service.impound(order, "wet again", by=BY, now=NOW)
        danger_service.look(order, Looked(), by=BY, now=LATER)
        assert power.do_not_energise(order.id)
        danger_service.lift(order, "dried and meggered", by=BY, now=LATER)
        assert power.do_not_energise(order.id) is None


def test_customer_needs_a_name_and_one_way_to_reach_them(context: Flask) -> None:
    with transaction():
        for facts, field in ((CustomerFacts(" ", "555"), "name"), (CustomerFacts("Wren", " "), "phone")):
            with pytest.raises(BadInput) as refused:
                records_service.add_customer(facts, by=BY, now=NOW)
            assert refused.value.field == field


@pytest.mark.parametrize("record", [
    lambda order: Customer(name="Nobody", added_at=NOW),
    lambda order: Accessory(order_id=order.id, what="cover", quantity=-1),
    lambda order: FirstLook(order_id=order.id, dangers=[], energised=True, at=NOW, by_name="Mara"),
    lambda order: Quarantine(order_id=order.id, reason="wet", set_at=NOW, set_by="M", lifted_at=NOW, lifted_by="I"),
], ids=["unreachable", "fewer than none", "energised for no reason", "lifted for no reason"])
def test_database_refuses_what_must_never_be(context: Flask, record: Any) -> None:
    with pytest.raises(IntegrityError), transaction():
        session().add(record(factories.order()))
        session().flush()
