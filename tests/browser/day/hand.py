"""A person at a device, whose taps, keys and seconds are counted by act."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Locator, Response

from tests import served
from tests.browser.hands import MARK, BrowserHand
from tests.intake.make import jpeg
from tests.journeys.hands import SIGNED

# The rates of hands, common practice, no source: an untrained thumb types three letters a second, a tap with the look for it
# takes 1.2 s (the keystroke-level model of Card, Moran and Newell, 1983, has 1.1 s to point and 0.1 s to press, from memory).
KEY_S, TAP_S = 0.33, 1.2
SIZES = {"tablet": {"width": 1180, "height": 820}, "phone": {"width": 390, "height": 844},
         "desktop": {"width": 1440, "height": 900}}


@dataclass
class Act:
    """One thing that was done, once: what hands did, and how long pages took."""

    taps: int = 0
    keys: int = 0
    pages: int = 0
    waited_s: float = 0.0

    @property
    def by_hand_s(self) -> float:
        """What it takes a person who knows the pages: taps, keys and the waits for pages; no talk."""
        return self.taps * TAP_S + self.keys * KEY_S + self.waited_s


class Hand(BrowserHand):
    """As a browser's hand, but counted; `acts` lists every act in the order in which it was done."""

    def __init__(self, context: BrowserContext, name: str, shots: Path | None = None) -> None:
        super().__init__(context, name)
        self.acts: dict[str, list[Act]] = defaultdict(list)
        self.now = Act()
        self.shots = shots
        self.answers: list[str] = []
        self.page.on("response", self._heard)

    def _heard(self, answer: Response) -> None:
        if answer.status >= 500:
            self.answers.append(f"{answer.status} {answer.request.method} {answer.url}")

    @contextmanager
    def act(self, name: str) -> Iterator[Act]:
        """Everything done meanwhile is this act's."""
        before, self.now = self.now, Act()
        yield self.now
        self.acts[name].append(self.now)
        self.now = before

    def enter(self, form: Locator, name: str, value: Any) -> None:
        """A field of a form that is filled in as the journeys do, counted as well: a tap, and a key a letter."""
        super().enter(form, name, value)
        several = len(value) if isinstance(value, list) else 3 if isinstance(value, bytes) else 1
        self.now.taps += 3 if value is SIGNED else several
        self.now.keys += len(value) if isinstance(value, str) and form.locator(f"[name='{name}']").first.evaluate(
            "field => field.matches('textarea, input:not([type=radio], [type=checkbox])')") else 0

    def send(self, button: Locator) -> None:
        began = time.perf_counter()
        super().send(button)
        self.now.waited_s += time.perf_counter() - began
        self.now.taps += 1
        self.now.pages += 1

    def goto(self, path: str) -> None:
        """An address that is opened by itself: a bookmark, or where somebody was before. It is no tap of the act."""
        self.page.goto(path)
        served.ready(self.page)

    def tap(self, what: str | Locator) -> None:
        """A tap that leads to no other page."""
        self._one(what).tap()
        self.now.taps += 1

    def go(self, what: str | Locator) -> str:
        """A tap that leads to another page; the words of that page."""
        began = time.perf_counter()
        with self.page.expect_navigation():
            self.tap(what)
        served.ready(self.page)
        self.now.waited_s += time.perf_counter() - began
        self.now.pages += 1
        return self.words()

    def link(self, words: str, *, exact: bool = True) -> str:
        return self.go(self.page.get_by_role("link", name=words, exact=exact).first)

    def button(self, words: str, *, exact: bool = True) -> str:
        return self.go(self.page.get_by_role("button", name=words, exact=exact).first)

    def next(self) -> str:
        """The one next thing of the page."""
        return self.go("main .next .btn-main, main .next a.btn, main .next button")

    def type(self, field: str, words: str) -> None:
        """Words into a field, by its name: a tap unless the cursor stands there, and a key each."""
        where = self._one(f"main [name='{field}']")
        if not where.evaluate("field => field === document.activeElement"):
            self.now.taps += 1
        where.fill("")
        dated = where.evaluate("field => field.type.startsWith('date')")  # what is typed depends on the browser's language
        where.fill(words) if dated or len(words) > 200 else where.press_sequentially(words)
        self.now.keys += len(words)

    def choose(self, field: str, *values: str) -> None:
        """Chips or a list, by the field's name and its values, or a value's words."""
        first = self.page.locator(f"main [name='{field}']").first
        if first.evaluate("field => field.localName") == "select":
            for value in values:
                at = self.page.locator(f"main select[name='{field}'] option", has_text=value).first.get_attribute("value")
                first.select_option(at)
                self.now.taps += 2
            return
        for value in values:
            box = self.page.locator(f"main [name='{field}'][value='{value}']").first
            self.tap(box)
            assert box.is_checked(), f"{field}={value}"

    def tick(self, field: str) -> None:
        box = self.page.locator(f"main [name='{field}']").first
        self.tap(box)
        assert box.is_checked(), field

    def fold(self, words: str) -> None:
        """Open the fold with this summary."""
        self.tap(self.page.locator("main summary", has_text=words).first)

    def shoot(self, view: str) -> None:
        """The camera button of one zone, shutter and "use it"; the photo goes by itself, and its zone says so."""
        self.now.taps += 3
        self.page.locator(f"#photos_{view}").set_input_files({"name": f"{view}.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
        self.page.locator(f"#zone-{view}", has_text="1 photo").wait_for()

    def draw(self) -> None:
        """A signature on the pad: a customer's three strokes, one tap each as far as hands are counted."""
        self.sign(self.page.locator("main form:has(.pad)").first)
        self.now.taps += 3

    def picture(self, name: str) -> None:
        """The page as it stands, at each size, if pictures are wanted."""
        if self.shots is None:
            return
        was = self.page.viewport_size
        for size, pixels in SIZES.items():
            self.page.set_viewport_size(pixels)
            self.page.screenshot(path=self.shots / f"{name}-{size}.png", full_page=True)
        if was:
            self.page.set_viewport_size(was)

    def told(self) -> str:
        """The page's own part as it is read, white space folded."""
        return " ".join(self.page.locator("main").inner_text().split())

    def refusal(self) -> str:
        """What the page says is wrong."""
        return " ".join(" ".join(self.page.locator(".errors, .said-refused, .error").all_inner_texts()).split())

    def _one(self, what: str | Locator) -> Locator:
        return self.page.locator(what).first if isinstance(what, str) else what


def at_device(browser: Browser, address: str, name: str, size: str, shots: Path | None) -> Hand:
    context = browser.new_context(base_url=address, viewport=SIZES[size], has_touch=True, accept_downloads=True)
    context.set_default_timeout(15_000)
    return Hand(context, name, shots)


__all__ = ["MARK", "Act", "Hand", "at_device"]
