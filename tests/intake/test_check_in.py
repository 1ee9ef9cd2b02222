"""Who brings which amp: known people and amps are asked back, three people stand on one page, nothing typed is lost."""

from __future__ import annotations

from flask import Flask

from app.db import session, transaction
from app.intake.service import checking_in as checking_in_service
from app.intake.service.checking_in import CheckIn, People
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.records.models import Amp, Customer
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY

NEW = "/check-in?customer=new"
TYPED = {"name": "Wren A. Adler", "phone": "+61 491 570 156", "email": "wren@adler.example", "maker": "Tarnholt",
         "model": "Meridian 30", "serial": "MX 77", "complaint": "hums, then goes quiet"}


def visit(*, ended: bool = True, owner: str = "") -> tuple[int, int, int]:
    """Åsa's amp was here, or is: ids of customer, amp and order."""
    who, what = factories.customer("Åsa Lindqvist", phone="0491 570 156"), factories.amp(serial="MX-77")
    order = checking_in_service.check_in(CheckIn(who, what, "no sound"), the_shop(), by=BY, now=NOW)
    if owner:
        other = factories.customer(owner, phone="0491 570 157")
        checking_in_service.name_people(order, People(who, other, other), by=BY, now=NOW)
    if ended:
        order.ended_as, order.ended_at = End.REPAIRED, NOW
    session().flush()
    return who.id, what.id, order.id


def orders() -> list[RepairOrder]:
    return list(session().query(RepairOrder).order_by(RepairOrder.id))


def test_known_number_and_serial_are_asked_back_and_what_was_typed_stays(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        who, amp, _ = visit()
    page = counter.post("/check-in", TYPED, form_on=NEW)
    assert "Known already?" in page.words and "Left by: Åsa Lindqvist, 0491 570 156" in page.words
    assert "Tarnholt Meridian 30, serial MX-77, last brought by Åsa Lindqvist" in page.words
    with app.app_context():
        assert len(orders()) == 1 and session().query(Customer).count() == 1
    page = counter.send("/check-in", {**page.fields("/check-in"), "take": f"depositor:{who}"})
    page = counter.send("/check-in", {**page.fields("/check-in"), "take": f"amp:{amp}"})
    fields = page.fields("/check-in")
    assert fields["complaint"] == TYPED["complaint"]
    assert fields["also_reached"] == "+61 491 570 156, wren@adler.example"
    counter.send("/check-in", {**fields, "come_back_of": "0"})
    with app.app_context():
        second = orders()[1]
        assert (second.depositor_id, second.amp_id) == (who, amp)
        assert session().query(Amp).count() == session().query(Customer).count() == 1
        assert "wren@adler.example" in second.depositor.note


def test_somebody_new_all_the_same_is_added_after_the_question(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        visit()
    page = counter.post("/check-in", TYPED, form_on=NEW)
    counter.send("/check-in", {**page.fields("/check-in"), "as_new": "y"})
    with app.app_context():
        assert len(orders()) == 2 and session().query(Customer).count() == session().query(Amp).count() == 2


def test_amp_that_is_here_already_is_asked_back_with_its_order(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        _, _, order = visit(ended=False)
    page = counter.post("/check-in", {**TYPED, "name": "Imre Falk", "phone": "0491 570 158", "email": ""}, form_on=NEW)
    assert "it is here already as repair 1001" in page.words and f"/orders/{order}" in page.links()
    with app.app_context():
        assert len(orders()) == 1


def test_what_is_known_is_said_while_one_types(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        who, amp, _ = visit()
    ask = counter.client.get
    assert [one["take"] for one in ask("/check-in/known?phone=0491570156").json] == [f"depositor:{who}"]
    assert [one["take"] for one in ask("/check-in/known?owner_phone=0491570156").json] == [f"owner:{who}"]
    assert [one["take"] for one in ask("/check-in/known?serial=mx77").json] == [f"amp:{amp}"]
    assert ask("/check-in/known?serial=mx77&maker=Ferrow&model=Two").json == []
    for nothing in ("?serial=none+found", "?phone=555", ""):
        assert ask(f"/check-in/known{nothing}").json == []


def test_known_amp_that_comes_with_somebody_new_keeps_its_record(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        who, amp, _ = visit()
    assert f"/check-in?amp={amp}" in counter.get(f"/amps/{amp}").links()
    asked = counter.get(f"/check-in?amp={amp}")
    assert "Who brings the Tarnholt Meridian 30" in asked.words
    on = f"/check-in?customer=new&amp={amp}"
    page = counter.get(on)
    assert page.fields("/check-in")["owner_is"] == f"c{who}" and "Someone else owns it" in page.words
    counter.post("/check-in", {"name": "Imre Falk", "phone": "0491 570 158", "complaint": "crackles", "come_back_of": "0"},
                 form_on=on)
    with app.app_context():
        second = orders()[1]
        assert second.amp_id == amp and second.depositor.name == "Imre Falk"
        assert second.owner_id == second.authority_id == who and session().query(Amp).count() == 1


def test_three_people_are_written_on_the_one_page(app: Flask, counter: PageClient) -> None:
    told = {**TYPED, "owner_name": "Noor Halloran", "owner_phone": "0491 570 157", "approver_name": "Imre Falk",
            "approver_email": "imre@falk.example", "approver_is": "new"}
    page = counter.post("/check-in", {**told, "owner_phone": "0491 570 157 000 00"}, form_on=NEW)
    assert "too long" in page.words and page.fields("/check-in")["approver_name"] == "Imre Falk"
    page = counter.send("/check-in", {**page.fields("/check-in"), "owner_phone": "", "owner_name": "Noor Halloran"})
    assert "Enter one way to reach them" in page.words
    counter.send("/check-in", {**page.fields("/check-in"), "owner_phone": "0491 570 157"})
    with app.app_context():
        (order,) = orders()
        people = order.depositor, order.owner, order.authority
        assert [one.name for one in people] == ["Wren A. Adler", "Noor Halloran", "Imre Falk"]


def test_owner_and_approver_are_offered_as_last_time(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        who, amp, _ = visit(owner="Noor Halloran")
    fields = counter.get(f"/check-in?customer={who}&amp={amp}").fields("/check-in")
    assert fields["owner_is"].startswith("c") and fields["approver_is"] == "owner"
    counter.send("/check-in", {**fields, "complaint": "quiet", "come_back_of": "0"})
    with app.app_context():
        second = orders()[1]
        assert second.owner.name == second.authority.name == "Noor Halloran" and second.depositor_id == who


def test_people_of_an_order_are_found_added_and_chosen_on_one_page_and_nothing_is_lost(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        factories.customer("Åsa Lindqvist", phone="0491 570 156")
        order_id = factories.order(customer=factories.customer("Noor")).id
    at = f"/orders/{order_id}/intake/people"
    page = counter.post(at, {"find": "lindq", "then": "find"})
    asa = next(one.get("value") for one in page.all("option") if (one.text or "").startswith("Åsa"))
    fields = {**page.fields(at), "owner_id": asa}
    page = counter.send(at, {**fields, "name": "Imre Falk", "phone": "0491 570 158", "then": "add"})
    assert page.fields(at)["owner_id"] == asa, "what was chosen before somebody was added"
    page = counter.send(at, {**page.fields(at), "name": "Wren Adler", "phone": "0491 570 159", "then": "add"})
    assert {"Imre Falk", "Wren Adler", "Åsa Lindqvist", "Noor"} <= {(one.text or "").split(",")[0] for one in page.all("option")}
    wren = next(one.get("value") for one in page.all("option") if (one.text or "").startswith("Wren"))
    counter.send(at, {**page.fields(at), "authority_id": wren})
    with app.app_context():
        order = session().get_one(RepairOrder, order_id)
        assert [one.name for one in (order.depositor, order.owner, order.authority)] == ["Noor", "Åsa Lindqvist", "Wren Adler"]
    page = counter.post(at, {"name": "Asa", "phone": "+61 491 570 156", "then": "add"})
    assert "Known already?" in page.words and "Choose Åsa Lindqvist" in page.words
    with app.app_context():
        assert session().query(Customer).count() == 4


def test_odd_number_is_asked_back_once(app: Flask, counter: PageClient) -> None:
    page = counter.post("/check-in", {**TYPED, "phone": "0491 570 15"}, form_on=NEW)
    assert "a digit may be missing" in page.words and page.all("input", name="odd_number")
    counter.send("/check-in", {**page.fields("/check-in"), "odd_number": "y"})
    with app.app_context():
        assert orders()[0].depositor.phone == "0491 570 15"


def test_last_visit_stands_on_the_page_of_a_known_amp(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        who, amp, _ = visit()
    page = counter.get(f"/check-in?customer={who}&amp={amp}")
    for words in ("Last here as repair 1001", "Came with it then", "Must not be changed", "Nothing was declined.",
                  "No warranty was given."):
        assert words in page.words
