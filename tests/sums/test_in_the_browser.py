"""The sums in a real browser: the answer follows what is typed, axe finds nothing, nothing is wider than the screen.

axe-core 4 is the reference for the accessibility rules; reflow at 320 px is WCAG 2.2, 1.4.10.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, Page, expect

from app.bench.sums import queries
from app.bench.sums.sections import SUMS
from tests.people import Cast
from tests.served import ready, sign_in, tablet, watched

pytestmark = pytest.mark.browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.fixture
def engine_name() -> str:
    """What a browser shows does not differ by engine."""
    return "sqlite"


@pytest.fixture
def page(browser: Browser, address: str, app: Flask, cast: Cast) -> Iterator[Page]:
    """The technician at the tablet; whatever the browser complains about fails the test."""
    context = tablet(browser, address)
    sign_in(context, app, address, cast.technician.id)
    complaints: list[str] = []
    yield watched(context, complaints)
    context.close()
    assert complaints == []


def visit(page: Page, where: str) -> None:
    page.goto(where)
    ready(page)


def test_the_answer_follows_what_is_typed_and_is_kept_as_typed(page: Page, app: Flask) -> None:
    visit(page, "/sums/output-power")
    said = page.locator('[data-place="said"]')
    expect(page.get_by_role("button", name="Calculate")).to_be_hidden()
    page.get_by_label("Across the load, rms").fill("28.3")
    page.locator("#load_ohm").fill("16")
    expect(said).to_contain_text("50.1 W")
    expect(page).to_have_url(re.compile("volt_rms=28.3.*load_ohm=16|load_ohm=16.*volt_rms=28.3"))
    page.locator("#load_ohm").fill("16x")
    expect(page.locator("#load_ohm-error")).to_contain_text("cannot be read")
    expect(page.locator("#load_ohm")).to_have_attribute("aria-invalid", "true")
    expect(said).to_contain_text("No answer yet")
    page.locator("#load_ohm").fill("4R")
    expect(said).to_contain_text("200 W")
    expect(page.locator("#load_ohm-error")).to_have_count(0)
    page.get_by_role("button", name="Save this calculation").click()
    page.wait_for_selector("[data-said=saved]")
    with app.app_context():
        (kept,) = queries.kept()
        assert kept.given["load_ohm"] == {"typed": "4R", "si": 4.0, "unit": "ohm"}


def test_bands_are_tapped_and_only_those_the_part_has_are_shown(page: Page) -> None:
    visit(page, "/sums/colour-bands")
    expect(page.get_by_role("group", name="Fifth")).to_be_hidden()
    page.get_by_role("group", name="Third").get_by_label("orange").check(force=True)
    expect(page.locator('[data-place="said"]')).to_contain_text("47 kΩ ± 5 %")
    page.get_by_role("group", name="Bands").get_by_label("5").check(force=True)
    expect(page.get_by_role("group", name="Fifth")).to_be_visible()


@pytest.mark.parametrize(("width", "theme"), [(320, "light"), (1180, "dark")])
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(page: Page, width: int, theme: str) -> None:
    page.set_viewport_size({"width": width, "height": 820})
    page.emulate_media(color_scheme=theme, reduced_motion="reduce")  # type: ignore[arg-type]
    for where in ("/sums", "/sums/bias", "/sums/colour-bands", "/sums/earth-bond", "/sums/reservoir?load_ohm=x",
                  "/sums/push-pull?mine=yes", "/sums/kept"):
        visit(page, where)
        wrong = Axe().run(page, options=RULES).response["violations"]
        assert wrong == [], (where, [(one["id"], [node["html"] for node in one["nodes"]][:3]) for one in wrong])
        assert page.evaluate("document.documentElement.scrollWidth") <= width, where


PHONE = {"width": 390, "height": 844}


@pytest.mark.parametrize("key", sorted(SUMS))
def test_a_phone_shows_the_answer_without_scrolling(page: Page, key: str) -> None:
    """390 by 844, after the last field was typed and the answer came: its whole box is on the screen, wherever the page stands."""
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    visit(page, f"/sums/{key}?mine=yes")
    said = page.locator('[data-place="said"]')
    seen = [said.bounding_box()]
    numbers = page.locator("#given input[type=text]:visible")
    if numbers.count():
        last = numbers.nth(numbers.count() - 1)
        last.scroll_into_view_if_needed()
        asked = page.locator("#given").get_attribute("data-answered") or "0"
        last.press_sequentially("0")
        expect(page.locator("#given")).not_to_have_attribute("data-answered", asked)
        seen.append(said.bounding_box())
    for box in seen:
        assert box is not None and box["y"] >= 0 and box["y"] + box["height"] <= PHONE["height"], (key, box)


def test_without_script_the_answer_is_on_the_first_screen(browser: Browser, address: str, app: Flask, cast: Cast) -> None:
    context = browser.new_context(base_url=address, viewport=PHONE, java_script_enabled=False)  # type: ignore[arg-type]
    sign_in(context, app, address, cast.technician.id)
    page = context.new_page()
    page.goto("/sums/idle")
    page.locator("#anode_v").fill("430")
    page.locator("#cathode_a").fill("38m")
    page.get_by_role("button", name="Calculate").click()
    box = page.locator('[data-place="said"]').bounding_box()
    assert box is not None and box["y"] >= 0 and box["y"] + box["height"] <= PHONE["height"], box
    expect(page.locator('[data-place="said"]')).to_contain_text("The 6L6GC idles")
    context.close()


def test_an_example_is_marked_until_it_is_edited(page: Page) -> None:
    visit(page, "/sums/output-power")
    field = page.locator("#volt_rms")
    marks = "getComputedStyle(document.querySelector('label[for=volt_rms]'), '::after').content"
    assert page.evaluate(marks) == '"example"'
    grey = field.evaluate("e => getComputedStyle(e).color")
    expect(page.locator('[data-place="said"]')).to_contain_text("Example")
    field.fill("28.3")
    assert page.evaluate(marks) in ("none", "normal") and field.evaluate("e => getComputedStyle(e).color") != grey
    expect(page.locator('[data-place="said"]')).to_contain_text("Still example values: Load")
    page.get_by_label("The example values are mine too").check(force=True)
    expect(page.locator('[data-place="said"]')).not_to_contain_text("xample")
    expect(page).to_have_url(re.compile("mine=yes"))
