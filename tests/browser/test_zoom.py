"""A drawing zoomed on the bench tablet: by pinch, wheel, keys and buttons, up to one pixel of it for one of the page.

Two pointers of a touch: Pointer Events, level 2 (W3C Recommendation 2019). `naturalWidth`, the pixels of a picture: WHATWG HTML.
"""

from __future__ import annotations

import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from app.db import session, transaction
from app.drawings import service
from tests.drawings.make import drawing, picture
from tests.factories import NOW
from tests.people import BY
from tests.served import ready

pytestmark = pytest.mark.browser
WIDE, HIGH = 3200, 2000
IMG = ".drawing-pane img"


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def path(app: Flask) -> str:
    with app.app_context(), transaction():
        made = drawing(data=picture(WIDE, HIGH))
        session().flush()
        service.add_pin(made, "hum enters here", 0.25, 0.5, by=BY, now=NOW)
        return f"/drawings/{made.id}"


def width(page: Page) -> float:
    return float(page.evaluate(f"document.querySelector('{IMG}').getBoundingClientRect().width"))


def dot(page: Page) -> float:
    return float(page.evaluate("document.querySelector('.pin-dot').getBoundingClientRect().width"))


def is_whole(page: Page) -> None:
    """The picture as it came stands in the pane, each of its pixels as large as one of the page."""
    expect(page.locator(IMG)).to_have_js_property("naturalWidth", WIDE)
    assert abs(width(page) - WIDE) < 1
    assert not page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"), "only the pane scrolls"


def pinch(page: Page, *spreads: float) -> None:
    """Two fingers about a place a third across the pane, so far apart one after another."""
    box = page.locator("[data-pane]").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 3, box["y"] + box["height"] / 2
    touch = page.context.new_cdp_session(page)
    for at, far in enumerate(spreads):
        points = [{"x": x - far / 2, "y": y, "id": 1}, {"x": x + far / 2, "y": y, "id": 2}]
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove" if at else "touchStart", "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_pinch_wheel_keys_and_buttons_zoom_to_every_pixel(tablet: Page, path: str) -> None:
    tablet.goto(path)
    ready(tablet)
    fits = width(tablet)
    assert fits <= 1180 and abs(dot(tablet) - 36) < 6  # with the line around it
    pinch(tablet, 60, 90, 120, 150, 180)
    assert 2.2 * fits < width(tablet) < WIDE + 1
    pinch(tablet, 60, 120, 240, 360, 480)
    is_whole(tablet)
    assert abs(dot(tablet) - 36) < 6, "a pin keeps its size"
    pinch(tablet, 480, 240, 60)
    pinch(tablet, 480, 240, 60)
    assert abs(width(tablet) - fits) < 1

    tablet.locator("[data-pane]").focus()
    for _ in range(6):
        tablet.keyboard.press("+")
    is_whole(tablet)
    before = tablet.evaluate("document.querySelector('[data-pane]').scrollLeft")
    tablet.keyboard.press("ArrowRight")
    assert tablet.evaluate("document.querySelector('[data-pane]').scrollLeft") > before
    tablet.keyboard.press("-")
    assert fits < width(tablet) < WIDE
    tablet.keyboard.press("0")
    assert abs(width(tablet) - fits) < 1

    tablet.locator("[data-pane]").hover()
    for _ in range(8):
        tablet.mouse.wheel(0, -240)
    expect(tablet.locator("[data-zoom-words]")).to_have_text("100 %")
    is_whole(tablet)

    for name in ("Zoom out", "Zoom in", "Fit the drawing", "Show full size"):
        box = tablet.get_by_role("button", name=name).bounding_box()
        assert box is not None and min(box["width"], box["height"]) >= 48, name
    tablet.get_by_role("button", name="Fit").tap()
    assert abs(width(tablet) - fits) < 1
    tablet.get_by_role("button", name="Show full size").tap()
    is_whole(tablet)


def test_a_tap_fills_the_place_of_a_pin(tablet: Page, path: str) -> None:
    tablet.goto(path)
    ready(tablet)
    tablet.get_by_role("button", name="Show full size").tap()
    box = tablet.locator("[data-pane]").bounding_box()
    field = tablet.locator("[data-field]").bounding_box()
    assert box is not None and field is not None
    x, y = box["x"] + 300, box["y"] + 200
    tablet.touchscreen.tap(x, y)
    expect(tablet.locator("[data-pin-across]")).to_have_value(f"{(x - field['x']) / field['width'] * 100:.1f}")
    expect(tablet.locator("[data-pin-down]")).to_have_value(f"{(y - field['y']) / field['height'] * 100:.1f}")
    tablet.fill("[name=note]", "120k in most")
    with tablet.expect_navigation():
        tablet.get_by_role("button", name="Add the pin").tap()
    expect(tablet.locator("#pin-2")).to_contain_text("120k in most")


def test_on_a_phone_the_page_does_not_scroll_sideways(tablet: Page, path: str) -> None:
    tablet.set_viewport_size({"width": 320, "height": 640})
    tablet.goto(path)
    ready(tablet)
    tablet.get_by_role("button", name="Show full size").tap()
    is_whole(tablet)
