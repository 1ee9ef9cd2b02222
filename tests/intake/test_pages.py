"""The counter's way through its pages, as somebody at the counter goes it."""

from __future__ import annotations

from flask import Flask

from app import clock
from app.db import session, transaction
from app.intake.queries import receipt as receipt_queries
from app.intake.service import checking_in as checking_in_service
from app.intake.service.checking_in import CheckIn
from app.orders import authority
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.intake.make import PEN, finish, jpeg
from tests.pages import PageClient
from tests.people import BY


def test_new_customer_goes_from_the_counter_to_teardown(app: Flask, counter: PageClient) -> None:
    page = counter.post("/check-in", {"name": "Wren Adler", "phone": "0491 570 156", "maker": "Tarnholt",
                                      "model": "Meridian 30", "complaint": "blows its fuse in the second set"},
                        form_on="/check-in?customer=new&name=Wren")
    assert "Identify the amp: serial, or none found; mains marking and class I or II." in page.words
    with app.app_context():
        order = session().query(RepairOrder).one()
        at = f"/orders/{order.id}/intake"
    assert "blows its fuse in the second set" in counter.get("/").words
    page = counter.post(f"{at}/amp", {"serial": "none found", "mains_marking": "230 V 50 Hz", "protection_class": "I"})
    assert page.title.startswith("Condition")
    page = counter.post(f"{at}/condition", {"zone": "front", "note": "grille torn at the left", "photos": jpeg()})
    assert page.title.startswith("Condition") and "Photograph the serial plate." in page.words
    page = counter.post(f"{at}/condition", {"photos_serial": jpeg("#222222")})
    assert page.title.startswith("Accessories")
    page = counter.post(f"{at}/accessories", {"footswitch": "1", "other_1": "a bag of knobs", "count_1": "2"})
    assert page.title.startswith("Danger check")
    page = counter.post(f"{at}/look", {"dangers": "none", "energised": "no"})
    assert page.title.startswith("Terms") and "checked on 26 November 2026" in page.words
    page = counter.post(f"{at}/terms", {"signature": PEN})
    assert "Receipt, revision 1, is issued. Give it to Wren Adler." in page.words
    assert "All intake requirements are met." in page.words and "1 × footswitch, 2 × a bag of knobs" in counter.get(at).words
    assert "Now at teardown." in counter.post(f"/orders/{order.id}/on", form_on=at).words
    with app.app_context():
        stored = session().get(RepairOrder, order.id)
        assert stored and stored.stage is Stage.TEARDOWN
        first = authority.governing(order.id)
        assert first and (first.ceiling_minor, first.channel.value) == (8500, "signature")
        assert first.agreed_by == "Wren Adler"
        facts = receipt_queries.receipt_facts(stored)
        assert facts.photo_count == 2 and facts.signature and facts.signature.path == PEN


def test_returning_amp_is_found_and_linked_to_its_first_repair(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        who, what = factories.customer("Åsa Lindqvist", phone="0412 345 678"), factories.amp(serial="MX-77")
        factories.customer("Noor Halloran")
        first = checking_in_service.check_in(CheckIn(who, what, "no sound"), the_shop(), by=BY, now=NOW)
        first.ended_as, first.ended_at = "repaired", clock.now()
        who_id, amp_id, first_id = who.id, what.id, first.id
    for typed in ("asa", "lind 0412345", "mx-77 tarnholt", "345 678"):
        found = counter.client.get("/check-in/find", query_string={"q": typed}).json
        assert [one["name"] for one in found] == ["Åsa Lindqvist"], typed
        assert found[0]["amps"][0]["url"] == f"/check-in?customer={who_id}&amp={amp_id}"
    assert counter.client.get("/check-in/find?q=nobody").json == []
    assert "Tarnholt Meridian 30 MX-77" in counter.get("/check-in?q=asa").words
    chosen = f"/check-in?customer={who_id}&amp={amp_id}"
    another_desk = {**counter.get(chosen).fields("/check-in"), "come_back_of": "0"}
    unsaid = counter.get(chosen).fields("/check-in")
    assert "come_back_of" not in unsaid  # under warranty or not: nobody says so but who asks the customer
    page = counter.send("/check-in", {**unsaid, "complaint": "quiet again"})
    assert "Choose whether it is in for the same fault again" in page.words
    page = counter.post("/check-in", {"complaint": "quiet again", "come_back_of": str(first_id)}, form_on=chosen)
    assert "Repair 1002 is open." in page.words
    with app.app_context():
        again = session().query(RepairOrder).filter_by(number=1002).one()
        assert again.come_back_of_id == first_id
    assert "already checked in as repair 1002" in counter.get(chosen).words
    assert "as repair 1002" in counter.send("/check-in", {**another_desk, "complaint": "twice"}).words
    with app.app_context():
        assert session().query(RepairOrder).count() == 2


def test_check_in_says_everything_it_lacks_at_once(app: Flask, counter: PageClient) -> None:
    page = counter.post("/check-in", {}, form_on="/check-in?customer=new")
    assert page.title.startswith("Error")
    for words in ("Enter the customer’s name.", "Enter the maker as marked", "Enter what the customer says"):
        assert words in page.words


def test_posting_the_same_check_in_twice_opens_one_order(app: Flask, counter: PageClient) -> None:
    fields = {**counter.get("/check-in?customer=new").fields("/check-in"), "name": "Wren", "phone": "0491 570 156",
              "maker": "Tarnholt", "model": "Nine", "complaint": "hum"}
    counter.send("/check-in", fields)
    counter.send("/check-in", fields)
    with app.app_context():
        assert session().query(RepairOrder).count() == 1


def test_band_mate_leaves_it_and_somebody_else_approves_cost(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        what = CheckIn(factories.customer("Noor"), factories.amp(), "hum")
        order_id = checking_in_service.check_in(what, the_shop(), by=BY, now=NOW).id
        at = f"/orders/{order_id}/intake"
    page = counter.post(f"{at}/people", {"name": "Imre Falk", "phone": "0491 570 157", "then": "add"})
    assert "Imre Falk is recorded" in page.words
    imre = next(option.get("value") for option in page.all("option") if (option.text or "").startswith("Imre"))
    fields = {**page.fields(f"{at}/people"), "owner_id": imre, "authority_id": imre}
    counter.send(f"{at}/people", fields)
    counter.post(f"{at}/terms", {"on_paper": "y"})
    assert "not agreed to yet" in counter.get(at).words  # the depositor's signature binds nobody's money but their own
    unsaid = counter.get(f"{at}/money/agreed").fields(f"{at}/money/agreed")
    assert "channel" not in unsaid  # nobody was called before that is said
    assert "Choose how they agreed." in counter.send(f"{at}/money/agreed", unsaid).words
    counter.post(f"{at}/money/agreed", {"channel": "phone", "reached_at": "0491 570 157"})
    page = counter.get(f"{at}/money")
    assert "Imre Falk, phone 0491 570 157" in page.words and "AUD 85.00" in page.words
    wrongly = next(link for link in page.links() if link.endswith("/withdraw"))
    counter.post(wrongly, {"reason": "that was his brother"})
    assert "does not count: that was his brother" in counter.get(f"{at}/money").words
    assert "may approve cost: Noor → Imre Falk" in counter.get(f"/orders/{order_id}/history").words


def test_seen_danger_marks_the_amp_and_only_the_bench_lifts_it(app: Flask, counter: PageClient,
                                                               technician: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
        at = f"/orders/{order_id}/intake"
    counter.post(f"{at}/look", {"dangers": ["burnt smell or scorching", "broken valve or glass"], "energised": "no"})
    assert "Do not energise" in counter.get(f"/orders/{order_id}").words
    counter.get(f"{at}/quarantine/lift", status=403)
    assert "Enter how the danger was removed" in technician.post(f"{at}/quarantine/lift", {"reason": " "}).words
    technician.post(f"{at}/quarantine/lift", {"reason": "glass out, inlet cleaned"})
    assert "Lifted by Ines" in technician.get(f"{at}/look").words
    history = technician.get(f"/orders/{order_id}/history").words
    assert "quarantine lifted" in history and "because: glass out, inlet cleaned" in history


def test_two_people_on_one_sheet_the_later_is_told(app: Flask, counter: PageClient, technician: PageClient) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{factories.order().id}/intake/complaint"
    opened = counter.get(at).fields(at)
    technician.post(at, {"words": "it hums"})
    page = counter.send(at, {**opened, "words": "it buzzes"}, status=409)
    assert "it hums" in page.words and "it buzzes" in page.words


def test_records_find_what_is_known_and_every_page_reads_well(app: Flask, counter: PageClient,
                                                                             owner: PageClient) -> None:
    with app.app_context(), transaction():
        order = finish(factories.order())
        orders.move_on(order, by=BY, now=NOW)
        at, who, what = f"/orders/{order.id}/intake", order.depositor_id, order.amp_id
    for typed in ("1001", "wren", "meridian"):
        assert "Tarnholt Meridian 30" in counter.get(f"/records?q={typed}").words
    assert "Nothing is known by that." in counter.get("/records?q=zzz").words
    counter.post(f"/customers/{who}/edit", {"phone": "0491 570 110"})
    assert "0491 570 110" in counter.get(f"/customers/{who}").words
    assert "phone: 555 0199 → 0491 570 110" in counter.get(f"/history/customer/{who}").words
    counter.post(f"/amps/{what}/edit", {"valves": "2 × 6L6GC"})
    assert "2 × 6L6GC" in counter.get(f"/amps/{what}").words
    for part in ("", "/complaint", "/people", "/amp", "/condition", "/accessories", "/look", "/money", "/money/agreed",
                 "/terms", "/place", "/quarantine"):
        counter.get(at + part)
    owner.post("/shop", {"wording": "tube"})
    assert "Nameplate rating" in owner.get(f"{at}/amp").words or "nameplate rating" in owner.get(f"{at}/amp").words.lower()


def test_signed_terms_show_the_signature_and_another_one_says_why(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = checking_in_service.check_in(CheckIn(factories.customer("Noor"), factories.amp(), "hum"), the_shop(), by=BY,
                                                now=NOW).id
    at = f"/orders/{order_id}/intake/terms"
    counter.post(at, {"signature": PEN})
    page = counter.get(at)
    assert PEN in page.text and "on the screen" in page.words and "The text that was signed" in page.words
    assert f"{at}?again=yes" in page.links() and not page.all("input", name="signature")
    again = counter.get(f"{at}?again=yes").fields(at)
    assert "Enter why they are signed again." in counter.send(at, {**again, "signature": PEN}).words
    counter.send(at, {**counter.get(f"{at}?again=yes").fields(at), "signature": PEN, "why": "the serial was wrong"})
    assert "because: the serial was wrong" in counter.get(f"/orders/{order_id}/history").words
    counter.post(f"/orders/{order_id}/intake/money", {"fee_minor": "120", "ceiling_minor": "200"})
    page = counter.get(at)
    assert "the diagnosis fee was raised after the signature" in page.words
    assert page.all("input", name="signature") and not page.all("input", name="why")
