"""The face in a real browser: no faults for axe, nothing wider than the screen, and each small module at its work.

axe-core 4 is the reference for the accessibility rules; sizes follow WCAG 2.2, 1.4.10 (reflow at 320 px) and 2.5.5
(targets of 44 px).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, Page, expect

from tests.face.kitchen import create_kitchen
from tests.served import ready, served, watched

pytestmark = pytest.mark.browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
TOO_SMALL = """() => [...document.querySelectorAll('a, button, input:not([type=hidden]), select, textarea, summary')]
  .filter((each) => { const box = each.getBoundingClientRect();
    return box.width > 0 && !each.matches('.skip, .tick input, p a') && (box.height < 43.5 || box.width < 24); })
  .map((each) => each.outerHTML.slice(0, 80))"""


@pytest.fixture(scope="module")
def app() -> Flask:
    return create_kitchen()


@pytest.fixture(scope="module")
def address(app: Flask) -> Iterator[str]:
    with served(app) as address:
        yield address


@pytest.fixture
def page(browser: Browser, address: str, app: Flask) -> Iterator[Page]:
    """A fresh visit; whatever the browser complains about fails the test."""
    app.config["POSTS"].clear()
    context = browser.new_context(base_url=address, viewport={"width": 1180, "height": 820})
    context.set_default_timeout(30_000)
    complaints: list[str] = []
    yield watched(context, complaints)
    context.close()
    assert complaints == []


def visit(page: Page, where: str = "/") -> None:
    page.goto(where)
    ready(page)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 1180])
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(page: Page, width: int, theme: str) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    page.emulate_media(color_scheme=theme, reduced_motion="reduce")  # no colour is caught half-way
    visit(page)
    page.evaluate("document.querySelector('form[data-draft]').requestSubmit()")
    page.wait_for_selector(".errors")
    ready(page)
    assert page.evaluate("getComputedStyle(document.body).colorScheme") == theme
    assert [(one["id"], [node["target"] for node in one["nodes"]])
            for one in Axe().run(page, options=RULES).response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert page.evaluate(TOO_SMALL) == []


def test_the_page_shows_nothing_less_without_script(browser: Browser, address: str) -> None:
    context = browser.new_context(base_url=address, java_script_enabled=False)
    page = context.new_page()
    page.goto("/")
    assert page.locator("form[data-draft] .field:visible").count() == 12
    assert page.locator(".step:visible").count() == 0
    page.get_by_role("button", name="Save it").click()
    expect(page).to_have_title(re.compile("^Error: "))
    context.close()


def test_errors_take_the_focus_and_lead_to_their_field(page: Page) -> None:
    visit(page)
    page.get_by_role("button", name="Save it").click()
    page.wait_for_selector(".errors")
    ready(page)
    assert page.evaluate("document.activeElement.className") == "errors"
    page.get_by_role("link", name="Choose where it is from").click()
    assert page.evaluate("document.activeElement.id") == "origin"


def fill(page: Page) -> None:
    page.fill("#what", "Cracked stopper")
    page.fill("#ohms", "4k7")
    page.fill("#secret", "2468")
    page.get_by_label("design").check()


def test_what_was_typed_is_there_after_a_reload_and_gone_once_saved(page: Page) -> None:
    visit(page)
    fill(page)
    page.get_by_label("cover").uncheck()
    page.reload()
    ready(page)
    assert page.input_value("#what") == "Cracked stopper"
    assert page.is_checked("#origin-1")
    assert not page.is_checked("#along-1")
    assert page.input_value("#secret") == ""
    assert "2468" not in page.evaluate("JSON.stringify(localStorage)")
    assert "It is not saved yet." in page.inner_text("[role=status]")
    page.get_by_role("button", name="Save it").click()
    page.wait_for_selector("[data-said=saved]")
    ready(page)
    assert page.evaluate("localStorage.length") == 0
    assert page.input_value("#what") == ""


def test_a_draft_is_kept_when_the_form_comes_back_with_errors(page: Page) -> None:
    visit(page)
    page.fill("#what", "Half done")
    page.get_by_role("button", name="Save it").click()
    page.wait_for_selector(".errors")
    ready(page)
    assert page.input_value("#what") == "Half done"
    visit(page)
    assert page.input_value("#what") == "Half done"
    page.get_by_role("button", name="Discard draft").click()
    expect(page.locator("#what")).to_have_value("")
    page.wait_for_function("localStorage.length === 0")


def test_a_draft_belongs_to_the_person_who_typed_it(page: Page) -> None:
    visit(page)
    page.fill("#what", "Mine")
    page.locator("#what").blur()
    page.wait_for_function("localStorage.length === 1")
    assert page.evaluate("Object.keys(localStorage)") == ["tagstrip-draft:Ines:kitchen"]
    page.add_init_script("addEventListener('DOMContentLoaded', () => { document.body.dataset.person = 'Tam'; })")
    visit(page)
    assert page.input_value("#what") == ""


def test_a_record_changed_by_somebody_else_is_not_written_over_by_a_draft(page: Page) -> None:
    visit(page)
    page.fill("#what", "Mine")
    page.locator("#what").blur()
    page.wait_for_function("localStorage.length === 1")
    page.add_init_script(
        "addEventListener('DOMContentLoaded', () => { document.querySelector('#ohms').value = '10k'; })")
    visit(page)
    assert page.input_value("#what") == ""
    page.get_by_role("button", name="Put back what I typed").click()
    expect(page.locator("#what")).to_have_value("Mine")


def test_a_double_tap_sends_once_until_no_answer_came_for_ten_seconds(page: Page) -> None:
    page.clock.install()
    visit(page)
    page.evaluate("""() => {
        window.sent = 0;
        document.addEventListener('submit', (event) => {
            window.sent += event.defaultPrevented ? 0 : 1;
            event.preventDefault();
        });
    }""")
    save = page.get_by_role("button", name="Save it")
    save.dblclick()
    assert page.evaluate("window.sent") == 1
    assert page.inner_text("[role=status]") == "Saving…"
    page.clock.fast_forward(10_000)
    assert "Check the connection" in page.inner_text("[role=status]")
    save.click()
    assert page.evaluate("window.sent") == 2


def test_a_form_that_is_sent_arrives_with_its_keys(page: Page, app: Flask) -> None:
    visit(page)
    fill(page)
    page.get_by_role("button", name="Save it").click()
    page.wait_for_selector("[data-said=saved]")
    assert [(post["what"], post["once"], post["page_token"]) for post in app.config["POSTS"]] == [
        ("Cracked stopper", "o", "t")]


def test_minus_and_plus_keep_to_their_bounds(page: Page) -> None:
    visit(page)
    page.get_by_role("button", name="One more: Knobs").click()
    assert page.input_value("#knobs") == "7"
    page.fill("#knobs", "40")
    page.get_by_role("button", name="One more: Knobs").click(force=True)
    assert page.input_value("#knobs") == "40"
    page.fill("#knobs", "0")
    page.get_by_role("button", name="One less: Knobs").click(force=True)
    assert page.input_value("#knobs") == "0"


def test_light_changes_at_once_and_the_choice_is_posted(page: Page) -> None:
    visit(page)
    with page.expect_request(lambda one: one.url.endswith("/theme")) as sent:
        page.get_by_role("button", name="Dark").click()
    assert "dark" in (sent.value.post_data or "")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(23, 20, 16)"
    assert page.get_by_role("button", name="Dark").get_attribute("aria-pressed") == "true"


def test_picked_photos_are_shown_and_only_full_inputs_are_sent(page: Page, tmp_path: Path) -> None:
    picture = tmp_path / "plate.png"
    picture.write_bytes((Path(__file__).parents[2] / "static" / "img" / "mark.svg").read_bytes())
    visit(page)
    page.set_input_files("#plate-file", [str(picture), str(picture)])
    assert page.locator(".picked li").count() == 2
    count = "new FormData(document.querySelector('form[data-draft]')).getAll('plate').length"
    assert page.evaluate(count) == 2


def test_the_pen_draws_a_path_and_clears_it(page: Page) -> None:
    visit(page)
    page.locator(".pad svg").scroll_into_view_if_needed()
    box = page.locator(".pad svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 20, box["y"] + 30)
    page.mouse.down()
    page.mouse.move(box["x"] + 120, box["y"] + 60, steps=4)
    page.mouse.up()
    drawn = page.input_value("[name=mark]")
    assert drawn.startswith("M")
    assert drawn.count("L") >= 4
    page.get_by_role("button", name="Clear and sign again").click()
    assert page.input_value("[name=mark]") == ""


def test_paper_has_no_bars_and_no_buttons(page: Page) -> None:
    visit(page)
    page.emulate_media(media="print")
    assert page.locator("header:visible, footer:visible, .btn:visible").count() == 0
    assert page.locator(".strip:visible").count() == 1
