"""What a save says is heard, and leads on: the words stand in the page's live region, the focus at the next act.

WCAG 2.2, 4.1.3 (status messages) and 2.4.3 (focus order); a live region is announced when it changes after the page has
loaded (WAI-ARIA 1.2, "role=status"), so what stands in it from the start is silent.
"""

from __future__ import annotations

import pytest
from flask import Flask
from playwright.sync_api import Browser, Page, expect

from app.db import transaction
from tests.findings.make import order_at
from tests.people import Cast
from tests.served import ready, sign_in

pytestmark = pytest.mark.browser
# Every text that comes into a live region after the page was drawn.
LISTEN = """
  window.heard = [];
  addEventListener('DOMContentLoaded', () => new MutationObserver((changes) => {
    for (const change of changes) for (const node of change.addedNodes) {
      if (change.target.closest?.('[role=status], [role=alert]')) window.heard.push(node.textContent.trim());
    }
  }).observe(document.body, { childList: true, subtree: true }));
"""
AT = "document.activeElement"


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return order_at().id


def save(page: Page, path: str, field: str, words: str) -> None:
    page.goto(path)
    ready(page)
    page.fill(field, words)
    with page.expect_navigation():
        page.locator("main form[method=post] button[type=submit]").first.tap()
    ready(page)


def test_a_message_is_put_into_the_live_region_after_the_page_has_loaded(tablet: Page, order_id: int) -> None:
    tablet.add_init_script(LISTEN)
    save(tablet, f"/orders/{order_id}/intake/place", "[name=shelf]", "Shelf 3")
    said = tablet.locator("[data-said=saved]")
    expect(said).to_have_count(1)
    assert said.evaluate("it => Boolean(it.closest('[role=status]'))")
    words = said.inner_text()
    assert tablet.evaluate("heard").count(words) == 1, "said once, and after the page was there"


def test_the_focus_goes_to_the_next_act_or_to_the_message(tablet: Page, order_id: int) -> None:
    save(tablet, f"/orders/{order_id}/intake/place", "[name=shelf]", "Shelf 3")
    tablet.wait_for_selector("[data-said=saved]")
    assert tablet.evaluate(f"{AT} !== document.body")
    assert tablet.evaluate(f"{AT}.matches('.next a, .next button, [data-said]')"), tablet.evaluate(f"{AT}.outerHTML.slice(0, 200)")


def test_a_next_act_that_is_out_of_sight_is_not_jumped_to(tablet: Page, order_id: int) -> None:
    """Whoever saved sees what was said; the page does not move under the finger."""
    tablet.set_viewport_size({"width": 390, "height": 400})
    save(tablet, f"/orders/{order_id}/intake/place", "[name=shelf]", "Shelf 3")
    tablet.wait_for_selector("[data-said=saved]")
    assert tablet.evaluate("scrollY") == 0
    assert tablet.evaluate(f"{AT}.getBoundingClientRect().top < innerHeight && {AT} !== document.body")


def test_an_error_still_takes_the_focus(tablet: Page, order_id: int) -> None:
    tablet.goto(f"/orders/{order_id}/removals/new")
    ready(tablet)
    with tablet.expect_navigation():
        tablet.locator("main .btn-main").first.tap()
    ready(tablet)
    assert tablet.evaluate(f"{AT}.className") == "errors"


def test_opening_a_page_moves_no_focus(tablet: Page, order_id: int) -> None:
    tablet.goto(f"/orders/{order_id}")
    ready(tablet)
    assert tablet.evaluate(f"{AT} === document.body")


def test_the_message_is_there_without_script(browser: Browser, address: str, app: Flask, cast: Cast, order_id: int) -> None:
    context = browser.new_context(base_url=address, java_script_enabled=False)
    sign_in(context, app, address, cast.technician.id)
    page = context.new_page()
    page.goto(f"/orders/{order_id}/intake/place")
    page.fill("[name=shelf]", "Shelf 3")
    page.locator("main form[method=post] button[type=submit]").first.click()
    expect(page.locator("[role=status] [data-said=saved]")).to_be_visible()
    context.close()


