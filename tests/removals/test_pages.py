"""The pages of what came off: entered, corrected, tagged, ended; and what two tabs do."""

from __future__ import annotations

from flask import Flask

from app.db import session, transaction
from app.orders.models import RepairOrder
from app.removals import queries
from tests import factories
from tests.pages import PageClient
from tests.people import Cast
from tests.photos.make import photo_bytes
from tests.removals import make


def opened(app: Flask) -> int:
    with app.app_context(), transaction():
        return factories.order().id


def marks(app: Flask, order_id: int) -> list[str]:
    with app.app_context():
        order = session().get(RepairOrder, order_id)
        assert order
        return [one.mark for one in queries.of_order(order)]


def test_three_pots_come_off_by_one_form_and_two_taps(app: Flask, technician: PageClient) -> None:
    order_id = opened(app)
    at = f"/orders/{order_id}/removals"
    page = technician.post(f"{at}/new", {"mark": "P1", "name": "volume pot", "kind": "control", "side": "outside",
                                         "other_place": "front panel", "count_clip": "1", "bag": "tray 3",
                                         "stack": "knob\nnut\nflat washer\nfascia\nchassis\ntoothed washer\nbody",
                                         "stays_on_loom": "y", "photos": photo_bytes()})
    assert "volume pot P1 is off the amp." in page.words and "1 clip" in page.words
    for expected in ("P2", "P3"):
        first = technician.get(at)
        action = first.form(f"{at}/{expected.replace('P', '').replace('2', '1').replace('3', '2')}/again").get("action")
        page = technician.post(str(action), {}, form_on=at)
    assert marks(app, order_id) == ["P1", "P2", "P3"]
    assert "15 loose pieces" in page.words
    assert "was under" not in page.words and "front panel" in page.words
    one = technician.get(f"{at}/1")
    assert "1 knob · 2 nut" in one.words and one.all("img")


def test_an_entry_that_cannot_stand_says_what_to_enter(app: Flask, technician: PageClient) -> None:
    at = f"/orders/{opened(app)}/removals/new"
    page = technician.post(at, {"name": "", "kind": "part"})
    assert "Enter what came off." in page.words
    page = technician.post(at, {"name": "base V5", "other_pieces": "0 spacer"})
    assert "enter how many and what" in page.words
    page = technician.post(at, {"name": "base V5", "ends": "3 brown"})
    assert "Enter what its ends were soldered to" in page.words
    page = technician.post(at, {"name": "base V5", "ends": "V5:3 brown cut", "keyed": "y"})
    assert "which way its keyway" in page.words
    page = technician.post(at, {"name": "", "kind": "valve_base", "mark": "V5", "keyed": "y", "orientation": "to the rear"})
    assert "valve base V5 is off the amp." in page.words


def test_the_later_of_two_tabs_is_told(app: Flask, technician: PageClient) -> None:
    order_id = opened(app)
    with app.app_context(), transaction():
        order = session().get(RepairOrder, order_id)
        assert order
        make.removal(order, "P1")
    at = f"/orders/{order_id}/removals/1/edit"
    stale = technician.get(at).fields(at)
    technician.post(at, {"name": "presence pot"})
    page = technician.send(at, {**stale, "name": "tone pot"}, status=409)
    assert "This was saved after you opened the page" in page.words
    assert "presence pot" in technician.get(f"/orders/{order_id}/removals/1").words


def test_fate_pieces_finds_and_losses_by_page(app: Flask, technician: PageClient, cast: Cast) -> None:
    order_id = opened(app)
    at = f"/orders/{order_id}/removals"
    with app.app_context(), transaction():
        order = session().get(RepairOrder, order_id)
        assert order
        make.removal(order, "P1", stack=("knob", "nut"))
    page = technician.post(f"{at}/1/fate", {"fate": "return_to_customer"})
    assert "Enter why its disposition changes." in page.words
    technician.post(f"{at}/1/fate", {"fate": "return_to_customer", "fate_reason": "they asked for it"})
    page = technician.post(f"{at}/1/end", {})
    assert "to go back to the customer" in page.words
    page = technician.post(f"{at}/1/reopen", {"reason": "not yet"})
    assert "is open again" in page.words
    page = technician.post(f"{at}/pieces", {"piece": "lock-nut", "count": "2", "went": "issued"})
    assert "2 lock-nut: new, from stock." in page.words
    page = technician.post(f"{at}/pieces/3/strike", {"reason": "counted twice"})
    assert "struck by Ines" in page.words
    page = technician.post(f"{at}/found", {"piece": "nut", "place": "under the board"})
    assert "No place of this amp is known to miss one." in page.words
    page = technician.post(f"/orders/{order_id}/way-back/found/1", {"how": "not of this amp", "words": "M4, none here"})
    assert "explained" in page.words
    technician.post(f"{at}/lost", {"piece": "knob", "removal": "1"})
    technician.post(f"{at}/lost/1/searched", {"how": "magnet"}, form_on=f"{at}/lost/1")
    assert "Someone else must search" in technician.get(f"{at}/lost/1").words
    other = PageClient(app).sign_in(cast.second)
    page = other.post(f"{at}/lost/1/countersign", {}, form_on=f"{at}/lost/1")
    assert "countersigned by Odd" in page.words
    page = technician.post(f"{at}/1/strike", {"reason": "wrong amp"}, status=409)
    assert "Pieces are entered for P1" in page.words


def test_the_labels_carry_a_square_for_each_bag(app: Flask, technician: PageClient) -> None:
    order_id = opened(app)
    with app.app_context(), transaction():
        order = session().get(RepairOrder, order_id)
        assert order
        make.removal(order, "P1")
        make.removal(order, "P2")
    page = technician.get(f"/orders/{order_id}/removals/labels")
    assert len([one for one in page.root.iter() if one.get("class") == "qr"]) == 2 and "bag P1" in page.words


def test_a_removal_is_pinned_to_the_photo_it_is_seen_on(app: Flask, technician: PageClient) -> None:
    order_id = opened(app)
    technician.post(f"/orders/{order_id}/photos", {"place": "board 1", "photos": photo_bytes()})
    at = f"/orders/{order_id}/removals/new?photo_id=1&pin_x=0.25&pin_y=0.5"
    fields = technician.get(at).fields(f"/orders/{order_id}/removals/new")
    assert (fields["photo_id"], fields["pin_x"], fields["place"]) == ("1", "0.25", "board 1")
    technician.send(f"/orders/{order_id}/removals/new", {**fields, "mark": "R7", "name": "bias feed", "kind": "wire"})
    page = technician.get("/photos/1")
    assert f"/orders/{order_id}/removals/1" in page.links() or f"/orders/{order_id}/removals/1" in page.text
    assert technician.get(f"/orders/{order_id}/removals/1").all("figure")
