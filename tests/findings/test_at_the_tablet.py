"""The bench tablet itself: pins by finger and by key, photos over a bad connection, values by pad."""

from __future__ import annotations

import pytest
from flask import Flask
from playwright.sync_api import Page, Route, expect

from app.boards import queries as boards_queries
from app.boards import service as boards_service
from app.boards.rules import BoardKind
from app.boards.spec import BoardFacts
from app.db import session, transaction
from app.photos import pins
from app.photos import queries as photos
from tests.factories import NOW
from tests.findings.make import order_at
from tests.people import BY
from tests.photos.make import photo, photo_bytes, the_order
from tests.served import ready

pytestmark = pytest.mark.browser


def open_page(tablet: Page, path: str) -> None:
    tablet.goto(path)
    ready(tablet)


def test_four_taps_make_a_finding_and_keys_move_its_pin(tablet: Page, app: Flask) -> None:
    with app.app_context(), transaction():
        order = order_at()
        seen = photo(order, place="valve bases").id
    open_page(tablet, f"/photos/{seen}")
    box = tablet.locator(".pin-field").bounding_box()
    assert box is not None
    tablet.touchscreen.tap(box["x"] + box["width"] * 0.25, box["y"] + box["height"] * 0.5)
    tablet.get_by_role("link", name="New finding").tap()
    tablet.get_by_role("link", name="arc track on valve base").tap()
    expect(tablet.locator("[data-risk-line=S]")).to_be_visible()
    ready(tablet)
    tablet.get_by_label("first aid").check()
    expect(tablet.locator("[data-risk-line=L]")).to_be_visible()  # first aid, more than 1 in 10,000: low
    tablet.get_by_label("fatal").check()
    tablet.locator(".pin-field").focus()
    tablet.keyboard.press("ArrowRight")
    tablet.keyboard.press("Shift+ArrowDown")
    tablet.get_by_role("button", name="Save").first.tap()
    expect(tablet.get_by_text("Finding 1 is recorded.")).to_be_visible()
    with app.app_context():
        (pin,) = pins.on_photo(seen)
        assert (pin.x, pin.y) == (pytest.approx(0.27, abs=0.005), pytest.approx(0.6, abs=0.005))
    tablet.goto(f"/photos/{seen}")
    tablet.get_by_role("link", name="Finding 1").tap()
    expect(tablet.get_by_role("heading", name="Finding 1")).to_be_visible()


def test_photos_in_a_row_survive_a_lost_connection_and_count_once(tablet: Page, app: Flask) -> None:
    with app.app_context(), transaction():
        order_id = order_at().id
    at = f"/orders/{order_id}/photos"
    open_page(tablet, at)
    camera, files = (tablet.locator(f'input[type="file"]{which}') for which in ("[capture]", "[multiple]"))
    tablet.get_by_label("mains inlet").check()
    camera.set_input_files({"name": "one.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes()})
    expect(tablet.get_by_text("1 photo added.")).to_be_visible()

    def answer_is_lost(route: Route) -> None:
        route.fetch()
        route.abort()

    tablet.route("**/photos", lambda route: answer_is_lost(route) if route.request.method == "POST" else route.continue_())
    files.set_input_files({"name": "two.png", "mimeType": "image/png", "buffer": photo_bytes("PNG")})
    expect(tablet.get_by_text("one photo waits here")).to_be_visible()
    tablet.unroute("**/photos")
    tablet.get_by_role("button", name="Send again").tap()
    expect(tablet.get_by_text("1 photo added.")).to_be_visible()
    expect(tablet.locator("#photo-list li")).to_have_count(2)
    files.set_input_files({"name": "cat.jpg", "mimeType": "image/jpeg", "buffer": b"<svg/>"})
    expect(tablet.get_by_role("status")).to_contain_text("That is not a photo.")
    with app.app_context():
        assert [one.place for one in photos.of_order(order_id)] == ["mains inlet"] * 2


def test_values_are_entered_by_bands_and_keys(tablet: Page, app: Flask) -> None:
    with app.app_context(), transaction():
        order = order_at()
        board = boards_service.record_board(order, BoardFacts("tag board", BoardKind.TAG), by=BY, now=NOW)
        session().flush()
        at = f"/orders/{order.id}/boards/{board.id}"
        order_id = order.id
    open_page(tablet, at)
    for colour in ("brown", "green", "red", "red", "silver"):
        tablet.get_by_role("button", name=colour).tap()
        if colour == "red" and tablet.get_by_label("Bands").input_value() == "brown green red red":
            tablet.get_by_role("button", name="one back").tap()
    tablet.get_by_label("Read out of circuit").tap()
    for key in ("1", "k", "5", "2"):
        tablet.get_by_role("group", name="Keys for the value").get_by_role("button", name=key, exact=True).tap()
    tablet.get_by_role("button", name="Save, and the next").tap()
    expect(tablet.get_by_text("within tolerance")).to_be_visible()
    with app.app_context():
        (position,) = boards_queries.boards_of(the_order(order_id))[0].positions
        # IEC 60062: brown green red silver is 1.5 kΩ 10 %.
        assert (position.nominal, position.tolerance, position.measured_out) == (1500.0, 0.1, 1520.0)
