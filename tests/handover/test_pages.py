"""The door, as the counter goes through it: repaired, unrepaired, not at all, and in again."""

from __future__ import annotations

from datetime import timedelta

from flask import Flask

from app import clock
from app.db import session, transaction
from app.documents import queries as papers
from app.documents.rules import Kind
from app.handover import queries
from app.money import queries as money
from app.money import service as money_service
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from app.removals.rules import Fate, OldPart
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand
from tests.intake.make import PEN
from tests.pages import PageClient
from tests.people import BY
from tests.removals import make as removals


def order_of(order_id: int) -> RepairOrder:
    return session().get_one(RepairOrder, order_id)


def at_return(app: Flask) -> int:
    with app.app_context(), transaction():
        return story.repaired(story.quoted(story.taken_in())).id


def test_counter_hands_a_repaired_amp_out(app: Flask, counter: PageClient, technician: PageClient) -> None:
    at = f"/orders/{(order_id := at_return(app))}/return"
    assert "Give back 1 × footswitch and check it off." in counter.get(at).words
    assert "1 × footswitch, not checked off yet" in counter.get(f"{at}/sign").words
    page = counter.post(f"{at}/accessories", hand.all_back(counter.get(f"{at}/accessories").fields()))
    assert page.title.startswith("Old parts")
    page = counter.post(f"{at}/old-parts", {"fate": "given back", "which": ""})
    assert page.title.startswith("Error: ") and "Tick or name the parts." in page.words
    page = counter.post(f"{at}/old-parts", {"fate": "given back", "which": "the old fuse carrier"})
    assert page.title.startswith("Money") and page.fields()["due_minor"] == "85.00"
    page = counter.post(f"{at}/sums", {"due_minor": "200", "paid_minor": "0", "method": "nothing was paid"})
    assert "more than was agreed" in page.words
    page = counter.post(f"{at}/sums", {"paid_minor": "50", "method": "cash"})
    assert "Enter why the rest stays open" in page.words
    page = counter.post(f"{at}/sums", {"paid_minor": "85", "method": "cash"})
    assert page.title.startswith("Demonstration")
    page = counter.post(f"{at}/shown", {"shown": "yes", "said": "Marked for 8 Ω."})
    assert "Due AUD 85.00, paid AUD 85.00, the last of it by cash." in page.words
    assert "given back (the old fuse carrier)" in page.words
    assert "Have them sign" in counter.post(f"{at}/sign", {}).words
    page = counter.post(f"{at}/sign", {"signature": PEN, "who": "somebody they sent", "name": "Ottoline Marsh"})
    assert "Enter how they showed" in page.words
    page = counter.post(f"{at}/sign", {"signature": PEN, "who": "somebody they sent", "name": "Ottoline Marsh",
                                       "known_by": "brought the receipt"})
    assert "Issue the repair report." in page.words
    assert counter.send(f"{at}/out", counter.token(), status=409).title.startswith("Still missing")
    report = f"/orders/{order_id}/papers/report"
    page = counter.post(report, {"as_page": "yes"})
    assert "Repair report, revision 1" in page.words and "Ottoline Marsh" in page.words
    assert "Record the return" in counter.get(at).words and "The counter returns the amp" in technician.get(at).words
    assert technician.send(f"{at}/out", technician.token(), status=403).status == 403
    page = counter.post(f"{at}/out", form_on=at)
    assert "Returned repaired" in page.words and "Check in as come-back" in page.words
    with app.app_context():
        assert order_of(order_id).ended_as is End.REPAIRED
        signed = queries.signature(order_id)
        assert signed is not None and signed.text_sha256 == queries.sha256(signed.text)
    assert "has ended" in counter.get(f"{at}/sums", status=409).words
    assert "says just this" in counter.get(report).words  # ending the order does not make its report old


def test_text_that_changed_while_it_was_read_is_not_signed(app: Flask, counter: PageClient) -> None:
    at = f"/orders/{(order_id := at_return(app))}/return"
    with app.app_context(), transaction():
        hand.settle_all(order_of(order_id), 8500)
    fields = {**counter.get(f"{at}/sign").fields(f"{at}/sign"), "signature": PEN}
    counter.post(f"{at}/shown", {"shown": "no", "said": ""})
    assert "Something changed since the text was shown" in counter.send(f"{at}/sign", fields).words


def test_counter_gives_an_amp_back_unrepaired(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = story.taken_in()
        order.stage = Stage.QUOTE
        order_id = order.id
    at = f"/orders/{order_id}/return"
    assert "Enter why it leaves unrepaired" in counter.get(f"{at}/unrepaired").words
    page = counter.post(f"{at}/unrepaired/why", {"reason": "it cannot be made safe here", "danger": "It can kill.",
                                                 "measures": ["chassis closed, no live part in reach"]})
    assert "Take the lead off, tag the plug or take the fuse out" in page.words
    page = counter.post(f"{at}/unrepaired/why", {"reason": "it cannot be made safe here", "danger": "It can kill.",
                                                 "measures": ["mains lead removed"], "tag": "T-7"})
    assert page.title.startswith("Accessories")
    page = counter.post(f"{at}/accessories", hand.all_back(counter.get(f"{at}/accessories").fields()))
    page = counter.post(f"{at}/old-parts", {"fate": "none came out"})
    assert page.title.startswith("Money")  # the diagnosis fee that was agreed
    page = counter.post(f"{at}/sums", {"paid_minor": "85", "method": "card"})
    assert "It must not be plugged in or switched on" in page.words and page.title.startswith("The warning")
    page = counter.post(f"{at}/unrepaired/acknowledge", {"how": "refused to sign", "witness": "Mara"})
    assert "The witness must be someone other than you." in page.words
    page = counter.post(f"{at}/unrepaired/acknowledge", {"how": "refused to sign", "witness": "wren adler"})
    assert "Nobody witnesses their own refusal" in page.words
    page = counter.post(f"{at}/unrepaired/acknowledge", {"how": "refused to sign", "witness": "Ines"})
    assert "Issue the label" in page.words
    page = counter.post(f"/orders/{order_id}/papers/unrepaired", {"as_page": "yes"})
    assert "Not tied to the amp yet." in page.words and "This was read out to Wren Adler, who refused to sign it." in page.words
    assert "I have read this" not in page.words and "label tied" not in page.words
    assert counter.send(f"{at}/unrepaired/out", counter.token(), status=409).title.startswith("Still missing")
    with app.app_context():
        label = papers.newest(order_id, Kind.UNREPAIRED)
        assert label is not None
        label_id = label.id
    page = counter.post(f"/papers/{label_id}/tied", form_on=f"/papers/{label_id}")
    assert "the label is tied to the amp" in page.words
    assert "Tied to the amp by Mara" in counter.get(f"/papers/{label_id}").words
    page = counter.post(f"{at}/unrepaired/out", form_on=f"{at}/unrepaired")
    assert "Returned unrepaired" in page.words


def test_uncollected_is_offered_once_there_is_something_to_collect(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = story.taken_in().id
    assert "Uncollected amp" not in counter.get(f"/orders/{order_id}").words
    assert "Uncollected amp" not in counter.get(f"/orders/{order_id}/return").words
    with app.app_context(), transaction():
        hand.leaves_unrepaired(order_of(order_id))
    assert "Uncollected amp" in counter.get(f"/orders/{order_id}").words
    assert "Uncollected amp" in counter.get(f"/orders/{order_id}/return").words
    assert "Uncollected amp" in counter.get(f"/orders/{at_return(app)}").words


def test_notices_are_written_down_with_their_rule_and_their_letter(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = story.taken_in().id
    at = f"/orders/{order_id}/return/uncollected"
    assert "It cannot be collected yet: it is at intake." in counter.get(f"{at}/notice", status=409).words
    with app.app_context(), transaction():
        hand.leaves_unrepaired(order_of(order_id))
    page = counter.post(f"{at}/notice", {"proof": "RP 4471"})
    assert "Enter the day on which it counts as given." in page.words
    today = page.fields(f"{at}/notice")["sent_on"]
    page = counter.post(f"{at}/notice", {"proof": "", "given_on": today})
    assert "Enter the proof of sending" in page.words
    page = counter.post(f"{at}/notice", {"proof": "RP 4471", "given_on": today})
    assert "Wait until" in page.words and "Uncollected Goods Act 1995" in page.words
    with app.app_context():
        notice = queries.notices(order_id)[0]
    assert "is waiting for you" in counter.get(f"/orders/{order_id}/papers/notice?about={notice.id}").words
    counter.get(f"/orders/{order_id}/papers/notice?about=999", status=404)
    page = counter.post(f"{at}/notice/{notice.id}/strike", {"reason": "came back"})
    assert "struck out: came back" in page.words


def test_amp_comes_back_with_its_last_readings_beside_it(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        order.ended_as, order.ended_at = End.REPAIRED, clock.now() - timedelta(days=12)
        order_id, number = order.id, order.number
    at = f"/orders/{order_id}/return/come-back"
    page = counter.get(at)
    assert "12 days ago" in page.words and "441 V" in page.words and "to be judged at the bench" in page.words
    page = counter.post(at, {"complaint": "blows its fuse again", "warranty": "yes"})
    assert f"Repair {number + 1} is open." in page.words
    with app.app_context():
        again = queries.come_backs(order_id)[0]
        assert (again.come_back_of_id, again.under_warranty, again.stage) == (order_id, True, Stage.INTAKE)
    assert "already checked in as repair" in counter.post(at, {"complaint": "once more"}).words


def test_open_order_has_no_come_back(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    assert "has not ended yet" in counter.get(f"/orders/{order_id}/return/come-back", status=409).words


def test_accessory_is_never_given_back_twice_over(app: Flask, counter: PageClient) -> None:
    at = f"/orders/{(order_id := at_return(app))}/return"
    with app.app_context():
        first = queries.things(order_id)[0][0]
    rest = hand.all_back(counter.get(f"{at}/accessories").fields())
    page = counter.post(f"{at}/accessories", {**rest, f"given_{first.id}": "0"})
    assert "enter why not all go back" in page.words
    page = counter.post(f"{at}/accessories", {**rest, f"given_{first.id}": "5"})
    assert "1 came in. Enter how many go back." in page.words
    page = counter.post(f"{at}/accessories", {**rest, f"given_{first.id}": "0", f"note_{first.id}": "kept for repair 1002"})
    assert page.title.startswith("Old parts")


def test_old_parts_marked_for_the_customer_are_lines_to_tick(app: Flask, counter: PageClient) -> None:
    at = f"/orders/{(order_id := at_return(app))}/return"
    with app.app_context(), transaction():
        removals.removal(order_of(order_id), "C12", name="Reservoir capacitor", fate=Fate.REPLACE, fate_reason="dried out",
                         old_part=OldPart.CUSTOMER)
        removals.removal(order_of(order_id), "C13", name="Second capacitor", fate=Fate.REPLACE, fate_reason="dried out",
                         old_part=OldPart.SCRAP)
    page = counter.get(f"{at}/old-parts")
    assert "Reservoir capacitor C12" in page.words and "C13" not in page.words
    assert "Tick or name the parts." in counter.post(f"{at}/old-parts", {"fate": "given back"}).words
    assert "Parts are named" in counter.post(f"{at}/old-parts", {"fate": "none came out", "parts": "Reservoir capacitor C12"}).words
    counter.post(f"{at}/old-parts", {"fate": "given back", "parts": "Reservoir capacitor C12", "which": "the fuse carrier"})
    assert "given back: Reservoir capacitor C12; the fuse carrier" in counter.get(at).words
    again = counter.get(f"{at}/old-parts").fields()
    assert (again["parts"], again["which"]) == ("Reservoir capacitor C12", "the fuse carrier")


def test_the_signature_says_first_what_is_open_and_then_shows_what_is_kept(app: Flask, counter: PageClient) -> None:
    at = f"/orders/{(order_id := at_return(app))}/return"
    page = counter.get(f"{at}/sign")
    assert "Record payment, or why it is unpaid." in page.words and f"{at}/sums" in page.links()
    with app.app_context(), transaction():
        hand.settle_all(order_of(order_id), 8500)
    assert "Do this first" not in counter.get(f"{at}/sign").words
    counter.post(f"{at}/sign", {"signature": PEN})
    page = counter.get(f"{at}/sign")
    assert PEN in page.text and not page.all("input", name="signature") and f"{at}/sign?again=yes" in page.links()
    assert counter.get(f"{at}/sign?again=yes").all("input", name="signature")
    with app.app_context(), transaction():
        paid = money.account(order_id).entries[0]
        money_service.strike(paid, "it was another repair's", by=BY, now=NOW)
    counter.post(f"{at}/sums", {"paid_minor": "50", "method": "cash", "on_account": "the rest on Friday"})
    page = counter.get(f"{at}/sign")
    assert "Something changed after this signature" in page.words and page.all("input", name="signature")
    assert "AUD 35.00 stays open after this." in page.words.replace("\u00a0", " ")


def test_a_notice_proposes_what_is_due_on_that_day(app: Flask, counter: PageClient) -> None:
    at = f"/orders/{(order_id := at_return(app))}/return"
    assert counter.get(f"{at}/uncollected/notice").fields()["due_minor"] == "85.00"
    with app.app_context(), transaction():
        hand.settle_all(order_of(order_id), 8000)
    assert counter.get(f"{at}/uncollected/notice").fields()["due_minor"] == "0.00"
