"""What was typed on a tablet whose connection is bad: kept until the shop confirms that very form, then gone."""

from __future__ import annotations

import re

import pytest
from flask import Flask
from playwright.sync_api import Page, Route, expect

from app.db import transaction
from tests.findings.make import order_at
from tests.served import ready

pytestmark = pytest.mark.browser
DRAFTS = "Object.keys(localStorage).filter((key) => key.startsWith('tagstrip-draft:'))"
WORDS = "Came in humming"


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return order_at().id


def open_page(page: Page, path: str) -> None:
    page.goto(path)
    ready(page)


def type_words(page: Page, order_id: int) -> None:
    open_page(page, f"/orders/{order_id}/intake/complaint")
    page.fill("textarea[name=words]", WORDS)


def send(page: Page, *, arrives: bool) -> None:
    """Send the form of the page over a connection that breaks: before it arrives, or after, so that only its answer is lost."""
    def drop(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        if arrives:
            route.fetch(max_redirects=0)
        route.abort("aborted")  # the page stays, as when one stops waiting

    page.route("**/*", drop)
    with page.expect_event("requestfailed"):
        page.locator("main .btn-main").tap()
    page.unroute("**/*")


def test_a_dropped_send_keeps_its_draft_on_every_other_page(tablet: Page, order_id: int) -> None:
    type_words(tablet, order_id)
    send(tablet, arrives=False)
    for elsewhere in ("/", f"/orders/{order_id}"):
        open_page(tablet, elsewhere)
        assert len(tablet.evaluate(DRAFTS)) == 1, f"{elsewhere} cleared what was never saved"
    open_page(tablet, f"/orders/{order_id}/intake/complaint")
    assert tablet.input_value("textarea[name=words]") == WORDS


def test_another_form_that_is_saved_meanwhile_clears_nothing(tablet: Page, order_id: int) -> None:
    type_words(tablet, order_id)
    send(tablet, arrives=False)
    open_page(tablet, f"/orders/{order_id}/intake/place")
    tablet.locator("main input[name=shelf]").fill("Shelf 3")
    tablet.locator("main .btn-main").tap()
    tablet.wait_for_selector("[data-said=saved]")
    ready(tablet)
    assert [key for key in tablet.evaluate(DRAFTS) if "place" in key] == []
    assert len(tablet.evaluate(DRAFTS)) == 1
    open_page(tablet, f"/orders/{order_id}/intake/complaint")
    assert tablet.input_value("textarea[name=words]") == WORDS


def test_a_form_whose_answer_was_lost_is_confirmed_by_the_next_page(tablet: Page, order_id: int) -> None:
    type_words(tablet, order_id)
    send(tablet, arrives=True)
    open_page(tablet, "/")
    assert tablet.evaluate(DRAFTS) == []
    assert not re.search("tagstrip_sent=.", tablet.evaluate("document.cookie"))


def test_what_is_typed_after_a_send_is_not_cleared_by_it(tablet: Page, order_id: int) -> None:
    type_words(tablet, order_id)
    send(tablet, arrives=True)
    tablet.fill("textarea[name=words]", WORDS + " and smelling of resin")
    tablet.locator("textarea[name=words]").blur()
    open_page(tablet, "/")
    assert len(tablet.evaluate(DRAFTS)) == 1


def test_a_second_send_with_other_entries_is_refused_and_keeps_them(tablet: Page, order_id: int) -> None:
    """The first arrived unseen; what was added before the second is nowhere but here."""
    tablet.clock.install()
    type_words(tablet, order_id)
    once = tablet.input_value("main form [name=once]")
    send(tablet, arrives=True)
    tablet.fill("textarea[name=words]", WORDS + " and smelling of resin")
    tablet.clock.fast_forward(11_000)  # no answer: the form may be sent again
    assert tablet.input_value("main form [name=once]") == once
    with tablet.expect_navigation():
        tablet.locator("main .btn-main").tap()
    ready(tablet)
    assert tablet.locator("[data-page=error]").count() == 1
    for elsewhere in ("/", f"/orders/{order_id}"):
        open_page(tablet, elsewhere)
        assert len(tablet.evaluate(DRAFTS)) == 1, elsewhere


@pytest.mark.parametrize("path", ["discharge/list", "way-back/handover", "removals/found", "waste", "removals/pieces"])
def test_forms_that_take_words_keep_a_draft_without_being_told_to(tablet: Page, order_id: int, path: str) -> None:
    open_page(tablet, f"/orders/{order_id}/{path}")
    field = tablet.locator("main form[method=post] :is(textarea, input[type=text]):visible").first
    field.fill("10.4")
    field.blur()
    tablet.reload()
    ready(tablet)
    expect(field).to_have_value("10.4")


def test_no_page_of_a_person_or_a_password_keeps_one(tablet: Page) -> None:
    open_page(tablet, "/people/me")
    assert tablet.locator("main form[method=post]").count() > 0
    assert tablet.locator("main form[data-draft]").count() == 0
