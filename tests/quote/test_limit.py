"""A cost limit that is raised by itself, with the facts that the strictest rule asks (16 CCR 2722, California: date, time, name,
number called, who took it, conditions, the new sum; read for the terms of that place).
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask import Flask

from app import clock
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.hours.queries.work import piece
from app.hours.rules.words import Role, WorkKey
from app.hours.service import timers
from app.orders import authority
from app.orders.models import AuthorityFor, Channel, RepairOrder
from app.parts import service as parts
from app.quote import costs, queries
from app.quote.service.ceiling import Raised, raise_ceiling
from app.shop.queries import the_shop
from tests.pages import PageClient
from tests.parts import make as store
from tests.people import BY, Cast
from tests.quote import make


def raised(**given: object) -> Raised:
    usual = {"ceiling_minor": 50_000, "what_for": "the second transformer, if the first one fails", "channel": Channel.PHONE,
             "agreed_at": make.LATER, "reached_at": "555 0199", "conditions": "call before it is ordered"}
    return Raised(**{**usual, **given})  # type: ignore[arg-type]


def test_the_entry_has_every_fact_of_the_consent(context: Flask) -> None:
    with transaction():
        order = make.agreed_order()
        stood = authority.governing(order.id)
        entry = raise_ceiling(order, raised(), by=BY, now=make.LATER)
        session().flush()
        assert (entry.covers, entry.ceiling_minor, entry.agreed_by, entry.channel, entry.reached_at, entry.agreed_at,
                entry.taken_by, entry.what_for, entry.note) == (
            AuthorityFor.VARIATION, 50_000, "Wren Adler", Channel.PHONE, "555 0199", make.LATER, BY.name,
            "the second transformer, if the first one fails", "call before it is ordered")
        assert authority.governing(order.id) is entry and stood is not None and stood.withdrawn_at is None
        assert costs.standing(order).ceiling_minor == 50_000


@pytest.mark.parametrize(("given", "words"), [
    ({"ceiling_minor": 100}, "agreed already"), ({"what_for": " "}, "what the money is for"),
    ({"reached_at": " "}, "number called"),
    ({"agreed_at": make.LATER + timedelta(days=1)}, "in the future"), ({"channel": Channel.SIGNATURE}, "under the quote")])
def test_a_consent_without_a_fact_is_refused(context: Flask, given: dict[str, object], words: str) -> None:
    with transaction():
        order = make.agreed_order()
        with pytest.raises(BadInput, match=words):
            raise_ceiling(order, raised(**given), by=BY, now=make.LATER)
        with pytest.raises(RuleBroken, match="Nobody has agreed to a sum"):
            raise_ceiling(make.order_at(), raised(**given), by=BY, now=make.LATER)


def test_the_page_raises_it_and_shows_every_consent(app: Flask, counter: PageClient, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = make.agreed_order().id
    page = counter.get(f"/orders/{order_id}/quote/limit")
    fields = page.fields()
    assert fields["ceiling_minor"] == "" and "channel" not in fields and "quote, revision 1" in page.words
    tomorrow = (clock.now().astimezone() + timedelta(days=2)).date().isoformat()
    entered = {"ceiling_minor": "500", "what_for": "more hours on the tremolo", "channel": "phone"}
    page = counter.post(f"/orders/{order_id}/quote/limit", {**entered, "agreed_on": tomorrow})
    assert "in the future" in page.words and page.fields()["ceiling_minor"] == "500"
    counter.post(f"/orders/{order_id}/quote/limit", entered)
    words = counter.get(f"/orders/{order_id}/quote/limit").words.replace("\u00a0", " ")
    assert "more hours on the tremolo" in words and "AUD 500.00" in words and "In force" in words
    technician.get(f"/orders/{order_id}/quote/limit", status=403)


def test_parts_and_hours_of_a_declined_item_are_refused_with_what_to_ask_for(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.agreed_order()
        line = make.line(order, what="Recover the cabinet", parts="cloth", parts_minor=5000)
        key = WorkKey(Role.ITEM, line.line_root_id)
        make.issue(order, make.LATER)
        make.authorise(order, now=make.LATER + timedelta(hours=1), ceiling_minor=90_000)
        timers.start(order, key, by=cast.technician.actor, now=make.LATER + timedelta(hours=2))
        session().flush()
        running = piece(order, key)
        assert running is not None
        timers.stop(cast.technician.actor.person_id, seen=running.running[0].id, by=cast.technician.actor,  # type: ignore[arg-type]
                    now=make.LATER + timedelta(hours=3))
        make.authorise(order, declined={line.id}, now=make.LATER + timedelta(hours=4), ceiling_minor=90_000)
        with pytest.raises(BadInput, match="Wren Adler has not agreed to this item: Recover the cabinet"):
            timers.start(order, key, allowed_by="Mara", by=cast.technician.actor, now=make.LATER + timedelta(hours=5))
        part = store.part(order, line.line_root_id)
        with pytest.raises(BadInput, match="Ask Wren Adler to approve “Recover the cabinet”, AUD .* before tax"):
            parts.order_part(order, part, store.bought(5000), by=BY, now=make.LATER)


def test_an_answer_of_tomorrow_is_refused(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        make.issue(order)
        with pytest.raises(BadInput, match="in the future"):
            make.authorise(order, now=make.LATER, agreed_at=make.LATER + timedelta(days=1))


def test_a_second_tax_and_prices_with_tax_go_through_the_quote(context: Flask) -> None:
    """Revenu Québec, Calculating the Taxes (read at revenuquebec.ca): 100.00, GST 5.00, QST 9.98, total 114.98."""
    with transaction():
        shop = the_shop()
        shop.tax_name, shop.tax_rate_bp, shop.second_tax_name, shop.second_tax_rate = "GST", 500, "QST", 9975
        order: RepairOrder = make.order_at()
        make.line(order, hours=make.Hours.one(0), parts="a transformer", parts_minor=10_000)
        quote = make.issue(order)
        assert (quote.net_minor, quote.tax_minor, quote.second_tax_minor, quote.total_minor) == (10_000, 1498, 998, 11_498)
        shop.tax_included = True
        make.line(order, hours=make.Hours.one(0), parts="a choke", parts_minor=1498)
        later = make.issue(order, make.LATER)
        assert later.total_minor == 11_498 and (later.net_minor, later.tax_minor, later.second_tax_minor) == (10_000, 1498, 998)
        answer = make.authorise(order, now=make.LATER + timedelta(hours=1))
        assert (answer.net_minor, answer.tax_minor, answer.total_minor) == (10_000, 1498, 11_498)
        assert queries.authorised_sum(order) == costs.committed(order) == 11_498
