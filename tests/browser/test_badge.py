"""A badge at a real tablet: by a scanner that types, and by the camera where the browser reads codes."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from flask import Flask
from playwright.sync_api import Browser, Page, expect

from app import clock
from app.access import service
from app.access.models import Person
from app.db import session, transaction
from app.kernel.tokens import DEVICE_COOKIE
from tests.people import BY, Cast
from tests.served import ready, watched
from tests.served import tablet as touch_device

pytestmark = pytest.mark.browser
# Chromium on Linux reads no codes itself and has no camera here: both are stood in for, in the shape of their standards.
CAMERA = """
window.BarcodeDetector = class {
  async detect() { return window.shown ? [{ rawValue: window.shown }] : []; }
};
navigator.mediaDevices.getUserMedia = async () => {
  if (window.refuses) throw new DOMException("no", "NotAllowedError");
  const canvas = document.createElement("canvas");
  canvas.getContext("2d").fillRect(0, 0, 9, 9);
  window.given = canvas.captureStream(5);
  return window.given;
};
"""


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def badge(app: Flask, cast: Cast) -> str:
    with app.app_context(), transaction():
        return service.make_badge(session().get_one(Person, cast.technician.id), by=BY, now=clock.now())


@pytest.fixture
def door(browser: Browser, address: str, app: Flask, cast: Cast, badge: str) -> Iterator[Page]:
    """An enrolled tablet at which nobody is signed in. Nobody has a PIN: a badge is enough to be asked for one."""
    with app.app_context(), transaction():
        owner = session().get_one(Person, cast.owner.id)
        _, secret = service.enrol(service.make_enrol_code(owner, by=BY, now=clock.now()), "Bench 1", agent="a tablet",
                                   now=clock.now())
    context = touch_device(browser, address)
    context.add_cookies([{"name": DEVICE_COOKIE, "value": secret, "url": address}])
    complaints: list[str] = []
    page = watched(context, complaints)
    yield page
    context.close()
    assert complaints == []


def open_door(page: Page) -> None:
    page.goto("/people/sign-in")
    expect(page).to_have_title(re.compile("Who is at the bench"))
    ready(page)


def test_a_scanner_types_it_wherever_the_focus_is_not(door: Page, badge: str) -> None:
    open_door(door)
    door.keyboard.type(badge.lower())
    door.keyboard.press("Enter")
    expect(door).to_have_title(re.compile("On the bench|Bench"))
    expect(door.get_by_role("button", name="Switch")).to_have_count(1)


def test_a_hand_that_types_is_not_taken_for_a_scanner(door: Page) -> None:
    open_door(door)
    door.keyboard.type("bcdfgh", delay=120)
    assert door.input_value("input[name=badge]") == ""
    assert door.locator("[data-camera]").is_hidden(), "this browser reads no codes"


def test_the_camera_reads_it_and_is_let_go(door: Page, badge: str) -> None:
    door.add_init_script(CAMERA)
    open_door(door)
    door.get_by_role("button", name="Scan with the camera").tap()
    expect(door.get_by_role("button", name="Stop the camera")).to_be_visible()
    door.evaluate("window.shown = 'https://elsewhere.example/'")
    door.wait_for_timeout(500)
    assert door.input_value("input[name=badge]") == "", "another code is no badge"
    door.evaluate("code => { window.shown = code; }", badge)
    expect(door).to_have_title(re.compile("On the bench|Bench"))


def test_a_camera_that_is_stopped_or_refused_says_what_else_there_is(door: Page) -> None:
    door.add_init_script(CAMERA)
    open_door(door)
    door.get_by_role("button", name="Scan with the camera").tap()
    door.get_by_role("button", name="Stop the camera").tap()
    expect(door.get_by_role("button", name="Scan with the camera")).to_be_visible()
    assert door.evaluate("window.given.getTracks().every(track => track.readyState === 'ended')")
    door.evaluate("window.refuses = true")
    door.get_by_role("button", name="Scan with the camera").tap()
    expect(door.locator("[data-said]")).to_contain_text("your PIN or your password")
