"""The box in a real browser: keys, touch, what is announced, and a phone's width."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from flask import Flask
from playwright.sync_api import Browser, Page, Route, expect

from app.db import transaction
from tests.people import Cast
from tests.search.test_index import full
from tests.served import ready, sign_in, watched

pytestmark = pytest.mark.browser
FOCUSED = "document.activeElement"


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return full().id


@pytest.fixture(params=[(1180, 820), (390, 844)], ids=["tablet", "phone"])
def page(request: pytest.FixtureRequest, browser: Browser, address: str, app: Flask, cast: Cast, order_id: int) -> Iterator[Page]:
    width, height = request.param
    context = browser.new_context(base_url=address, viewport={"width": width, "height": height}, has_touch=True)
    sign_in(context, app, address, cast.owner.id)
    complaints: list[str] = []
    yield watched(context, complaints)
    context.close()
    assert complaints == []


def opened(page: Page) -> Page:
    page.goto("/")
    ready(page)
    return page


@pytest.mark.parametrize("page", [(1180, 820)], indirect=True)
def test_slash_goes_to_the_box_arrows_lead_through_the_answers_and_enter_opens_one(page: Page) -> None:
    opened(page).keyboard.press("/")
    assert page.evaluate(f"{FOCUSED}.id") == "search-q"
    page.keyboard.type("wren")
    expect(page.locator(".search-list a")).to_have_count(3)
    expect(page.locator(".search [data-count]")).to_have_text("3 shown.")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    assert "Wren Adler" in page.evaluate(f"{FOCUSED}.innerText")
    page.keyboard.press("ArrowUp")
    assert page.evaluate(f"{FOCUSED}.matches('.search-hit:focus-visible')")
    page.keyboard.press("ArrowUp")
    assert page.evaluate(f"{FOCUSED}.id") == "search-q"
    page.keyboard.press("ArrowDown")
    with page.expect_navigation(url="**/orders/1"):
        page.keyboard.press("Enter")


@pytest.mark.parametrize("page", [(1180, 820)], indirect=True)
def test_escape_leaves_and_goes_back_to_where_one_was(page: Page) -> None:
    opened(page).locator("a.home").focus()
    page.keyboard.press("/")
    page.keyboard.type("wren")
    expect(page.locator(".search-list")).to_be_visible()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Escape")
    expect(page.locator(".search-list")).to_be_hidden()
    assert page.evaluate(f"{FOCUSED}.className") == "home"


@pytest.mark.parametrize("page", [(1180, 820)], indirect=True)
def test_a_slash_that_is_typed_into_a_field_stays_there(page: Page) -> None:
    page.goto("/records")
    ready(page)
    page.locator("main input[type=search]").focus()
    page.keyboard.type("a/b")
    assert page.locator("main input[type=search]").input_value() == "a/b"


@pytest.mark.parametrize("page", [(1180, 820)], indirect=True)
def test_enter_in_the_box_opens_the_page_of_answers(page: Page) -> None:
    opened(page).keyboard.press("/")
    page.keyboard.type("crackles")
    with page.expect_navigation(url="**/search?q=crackles"):
        page.keyboard.press("Enter")
    expect(page.locator(".search-answers a")).to_have_count(1)


@pytest.mark.parametrize("page", [(390, 844)], indirect=True)
def test_on_a_phone_the_box_is_a_page_of_its_own(page: Page) -> None:
    opened(page)
    expect(page.locator("header #search-q")).to_be_hidden()
    with page.expect_navigation(url="**/search"):
        page.locator(".search-item a").tap()
    ready(page)
    assert page.evaluate(f"{FOCUSED}.id") == "search-q"
    page.keyboard.type("+61491570156")
    expect(page.locator(".search-answers a")).to_have_count(2)
    expect(page.locator("[data-count]")).to_have_text("2 shown.")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.url.endswith("/search?q=%2B61491570156")


def test_targets_are_large_enough_and_nothing_is_cut_off(page: Page) -> None:
    page.goto("/search?q=wren")
    ready(page)
    heights = page.eval_on_selector_all("main a.search-hit, main button, main input",
                                        "all => all.map(one => one.getBoundingClientRect().height)")
    assert len(heights) == 5 and min(heights) >= 44
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_late_answer_to_an_earlier_search_is_thrown_away(page: Page) -> None:
    page.goto("/search")
    ready(page)
    held: list[Route] = []
    page.route("**/search/box?q=wren&*", lambda route: held.append(route))
    with page.expect_request("**/search/box?q=wren&*"):
        page.locator("#search-q").press_sequentially("wren")
    page.locator("#search-q").fill("zzyzx")
    expect(page.locator("[data-count]")).to_have_text("Nothing is found by that.")
    with page.expect_response("**/search/box?q=wren&*"):
        held[0].continue_()
    expect(page.locator("[data-count]")).to_have_text("Nothing is found by that.")
    expect(page.locator(".search-answers a")).to_have_count(0)
