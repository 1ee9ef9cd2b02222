"""An amp checked in and sent on to the bench by keyboard alone: Tab, the arrows, Space and Enter, and nothing that is tapped."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.journeys import story
from tests.people import PASSWORD
from tests.served import READY, watched

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]
HERE = "document.activeElement"
MOST = 150  # presses of Tab to come to anything on a page


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(base_url=address, viewport={"width": 1180, "height": 820})
    context.set_default_timeout(30_000)
    complaints: list[str] = []
    yield watched(context, complaints)
    context.close()
    assert complaints == []


def tab_to(page: Page, which: str) -> None:
    """Forward with Tab until the element that matches has the focus; it must be seen to have it."""
    for _ in range(MOST):
        page.keyboard.press("Tab")
        if page.evaluate(f"{HERE}.matches({which!r})"):
            assert page.evaluate(f"{HERE}.matches(':focus-visible')")
            return
    raise AssertionError(f"{which} is not reached by Tab on {page.url}")


def write(page: Page, field: str, words: str) -> None:
    tab_to(page, f"[name={field}]")
    page.keyboard.press("Control+a")
    page.keyboard.type(words)


def tick(page: Page, field: str, value: str) -> None:
    """A box is come to by Tab and ticked with Space; of a radio group Tab comes to one, the arrows go on from there."""
    wanted = f'[name={field}][value="{value}"]'
    if page.evaluate(f"document.querySelector({wanted!r}).type") == "checkbox":
        tab_to(page, wanted)
        page.keyboard.press("Space")
    else:
        tab_to(page, f"[name={field}]")
        for _ in range(20):
            if page.evaluate(f"{HERE}.matches({wanted!r})"):
                break
            page.keyboard.press("ArrowDown")
    assert page.evaluate(f"{HERE}.checked && {HERE}.matches({wanted!r})")


def press(page: Page, which: str, key: str = "Enter") -> None:
    """Come to a button or link, press it, and wait for the next page."""
    tab_to(page, which)
    with page.expect_navigation():
        page.keyboard.press(key)
    page.wait_for_selector(READY, state="attached")


def send(page: Page) -> None:
    press(page, "main .btn-main")


def do_next(page: Page) -> None:
    """The next needed thing is on top of the order's page, one key away."""
    press(page, ".next .btn-main")


def test_the_counter_needs_no_mouse(page: Page, tmp_path: Path) -> None:
    page.goto("/")
    write(page, "name", "Mara")
    write(page, "password", PASSWORD)
    send(page)
    press(page, "a[href='/check-in']")
    press(page, "[data-new]")
    for field, words in (("name", "Wren Adler"), ("phone", "0491 570 156"), ("maker", "Tarnholt"), ("model", "Meridian 30"),
                         ("serial", "M30-0117"), ("complaint", story.COMPLAINT)):
        write(page, field, words)
    send(page)
    order = page.url.split("/intake")[0]
    for _ in range(16):
        page.goto(order)
        page.wait_for_selector(READY, state="attached")
        if "/on" in (page.locator(".next form").get_attribute("action") or "" if page.locator(".next form").count() else ""):
            break
        do_next(page)
        SHEETS[page.url.rsplit("/", 1)[1]](page)
    press(page, ".next button", key="Space")
    assert "Now at teardown." in page.inner_text("main")


def photograph(page: Page) -> None:
    """Space on its button asks for the picker; the picker itself is the system's and never opens here: which file it is, no
    browser lets a test type."""
    picker = "[type=file][multiple]"
    page.evaluate(f"""document.querySelector({picker!r}).addEventListener("click", (asked) => {{
        asked.preventDefault();
        document.body.dataset.asked = asked.isTrusted;
    }}, {{ once: true }})""")
    tab_to(page, picker)
    page.keyboard.press("Space")
    page.wait_for_selector("[data-asked=true]")
    page.set_input_files(picker, {"name": "front.jpg", "mimeType": "image/jpeg", "buffer": story.photos(1)[0]})
    send(page)


def identify(page: Page) -> None:
    write(page, "mains_marking", "240 V 50 Hz 120 W")
    tick(page, "protection_class", "I")
    send(page)


def look(page: Page) -> None:
    tick(page, "dangers", "none")
    send(page)


def agree_on_money(page: Page) -> None:
    write(page, "fee_minor", "85")
    write(page, "ceiling_minor", "120")
    send(page)


def agree(page: Page) -> None:
    """The pen needs a hand; signed on paper is the way beside it."""
    tab_to(page, "[name=on_paper]")
    page.keyboard.press("Space")
    send(page)


def nothing_came(page: Page) -> None:
    tab_to(page, "[name=nothing]")
    page.keyboard.press("Space")
    send(page)


SHEETS = {"condition": photograph, "amp": identify, "accessories": nothing_came, "look": look, "money": agree_on_money,
          "terms": agree, "sign": agree, "receipt": send}
