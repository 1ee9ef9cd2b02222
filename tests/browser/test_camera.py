"""Photos one after another by the camera button: each adds to those before, none replaces them.

A capture input gives one file for each shot and forgets the last (HTML Media Capture, W3C Recommendation 2018).
"""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from PIL import Image
from playwright.sync_api import Page, expect

from app.db import transaction
from app.photos import queries as photos
from tests.findings.make import order_at
from tests.photos.make import photo_bytes
from tests.served import ready

pytestmark = pytest.mark.browser
SENT = "name => new FormData(document.querySelector('main form[enctype]')).getAll(name).map((one) => one.name)"


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return order_at().id


def shot(at: int) -> dict[str, Any]:
    """As a tablet hands it over: every one under the same name."""
    plain = Image.new("RGB", (64, 48), (at * 40, 90, 90))
    return {"name": "image.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes(image=plain)}


@pytest.mark.parametrize("path", ["findings/new", "removals/new", "removals/found", "intake/condition"])
def test_a_second_shot_adds_to_the_first_in_every_form(tablet: Page, order_id: int, path: str) -> None:
    tablet.goto(f"/orders/{order_id}/{path}")
    ready(tablet)
    name = tablet.locator("input[type=file]:not([capture])").first.get_attribute("name")
    camera = tablet.locator(f"input[type=file][capture][name='{name}']")
    for at in (1, 2, 3):
        camera.set_input_files(shot(at))
    tablet.locator("input[type=file]:not([capture])").first.set_input_files([
        {"name": "front.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes(image=Image.new("RGB", (64, 48), (9, 9, 9)))}])
    expect(tablet.locator(".picked li")).to_have_count(4)
    expect(tablet.locator(".picked img")).to_have_count(4)
    assert tablet.evaluate(SENT, name) == ["image.jpg", "image.jpg", "image.jpg", "front.jpg"]


def test_one_can_be_taken_out_again(tablet: Page, order_id: int) -> None:
    tablet.goto(f"/orders/{order_id}/removals/found")
    ready(tablet)
    camera = tablet.locator("input[type=file][capture]").first
    for at in (1, 2):
        camera.set_input_files(shot(at))
    tablet.locator("input[type=file]:not([capture])").first.set_input_files([
        {"name": "front.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes(image=Image.new("RGB", (64, 48), (9, 9, 9)))}])
    box = tablet.get_by_role("button", name="Remove front.jpg").bounding_box()
    assert box is not None and min(box["width"], box["height"]) >= 48
    tablet.get_by_role("button", name="Remove front.jpg").tap()
    expect(tablet.locator(".picked li")).to_have_count(2)
    assert tablet.evaluate(SENT, "photos") == ["image.jpg", "image.jpg"]
    assert tablet.evaluate("document.activeElement !== document.body"), "the focus stays with the photos"


def test_all_shots_arrive(tablet: Page, app: Flask, order_id: int) -> None:
    tablet.goto(f"/orders/{order_id}/removals/found")
    ready(tablet)
    camera = tablet.locator("input[type=file][capture]").first
    for at in (1, 2, 3):
        camera.set_input_files(shot(at))
    tablet.fill("[name=piece]", "a loose washer")
    with tablet.expect_navigation():
        tablet.locator("main .btn-main").tap()
    ready(tablet)
    with app.app_context():
        assert len(photos.of_order(order_id)) == 3
