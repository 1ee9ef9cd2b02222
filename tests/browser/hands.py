"""A person at a real browser: the same journeys as page by page, with a pen that draws and files that are picked."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import BrowserContext, Locator, Page

from tests.journeys.hands import SIGNED
from tests.served import READY, watched

# The forms of a page that are posted to an address and have all of some fields; marked, so that they can be found again.
MARK = """([path, names]) => {
  const leads = (form) => form.getAttribute('method') === 'post' && form.getAttribute('action').split('?')[0] === path;
  const fits = (form) => leads(form) && !form.matches('.who, .light')
    && names.every((name) => form.elements[name] !== undefined);
  const form = [...document.querySelectorAll('main form, .marks form')].find(fits);
  if (!form) return false;
  for (const each of document.querySelectorAll('[data-here]')) delete each.dataset.here;
  form.dataset.here = 'yes';
  for (const more of form.querySelectorAll('details')) more.open = true;
  for (let more = form.closest('details'); more; more = more.parentElement.closest('details')) more.open = true;
  return true;
}"""
CHOICES = """() => {
  const form = document.querySelector('[data-here]');
  const words = (field) => (field.labels[0]?.textContent ?? '').trim();
  const found = {};
  for (const field of form.elements) {
    if (field.localName === 'select') {
      found[field.name] = Object.fromEntries([...field.options].map((one) => [one.value, one.text.trim()]));
    }
    if (['radio', 'checkbox'].includes(field.type)) (found[field.name] ??= {})[field.value] = words(field);
  }
  return found;
}"""
# What a page would not do by itself: its form sent although the button is not there. The refusal is what is tried.
FORCE = """(path) => {
  const form = document.createElement('form');
  form.method = 'post';
  form.action = path;
  const once = [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  for (const [name, value] of [['page_token', document.querySelector('[name=page_token]').value], ['once', once]]) {
    const field = document.createElement('input');
    Object.assign(field, { type: 'hidden', name, value });
    form.append(field);
  }
  document.body.append(form);
  form.submit();
}"""


class BrowserHand:
    """One person at one device; whatever the browser complains about is kept in `complaints`."""

    def __init__(self, context: BrowserContext, name: str) -> None:
        self.name, self.context = name, context
        self.complaints: list[str] = []
        self.page = watched(context, self.complaints)
        self.sign_in_again = lambda: None

    def open(self, path: str) -> Page:
        self.page.goto(path)
        self.page.wait_for_selector(READY, state="attached")
        return self.page

    def do(self, path: str, entered: dict[str, Any] | None = None, *, on: str = "", way: str = "") -> str:
        self.open(on or path)
        form = self._form(path.split("?")[0], list(entered or {}))
        for name, value in (entered or {}).items():
            self.enter(form, name, value)
        if form.evaluate("form => form.matches('[data-module~=photo-run]')"):  # what is picked there goes by itself
            self.page.get_by_role("status").filter(has_text="added").wait_for(state="attached")
            return self.words()
        button = form.locator(f"button[value='{way}']" if way else "button[type=submit]").first
        self.send(button)
        words = self.words()
        assert not words.startswith("Error:"), f"{path}: {words[:700]}"
        return words

    def send(self, button: Locator) -> None:
        """Press it, and wait for the page that comes."""
        with self.page.expect_navigation():
            button.tap()
        self.page.wait_for_selector(READY, state="attached")

    def enter(self, form: Locator, name: str, value: Any) -> None:
        """Into one field, as a person would: a chip is tapped, a file is picked, a pen is drawn over the pad."""
        fields = form.locator(f"[name='{name}']")
        kind = fields.first.evaluate("field => field.localName === 'select' ? 'select' : field.type")
        if value is SIGNED:
            self.sign(form)
        elif kind in ("radio", "checkbox"):
            for one in value if isinstance(value, list) else [value]:
                field = fields.first if one is True else form.locator(f"[name='{name}'][value={json.dumps(one)}]")
                for _ in range(3):  # a page that is still arriving may move under the finger; a person taps again
                    if not field.is_checked():
                        field.tap()
                assert field.is_checked(), f"{name}={one}"
        elif kind == "file":
            fields.last.set_input_files({"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": value})
        elif kind == "select":
            fields.first.select_option(value)
        else:
            fields.first.fill(value)

    def sign(self, form: Locator) -> None:
        """Three strokes with the mouse."""
        pad = form.locator(".pad svg")
        pad.scroll_into_view_if_needed()
        box = pad.bounding_box()
        assert box is not None
        self.page.mouse.move(box["x"] + 30, box["y"] + 60)
        self.page.mouse.down()
        for across, down in ((80, 20), (120, 80), (170, 25), (230, 70)):
            self.page.mouse.move(box["x"] + across, box["y"] + down, steps=4)
        self.page.mouse.up()

    def refused(self, path: str, on: str) -> str:
        self.open(on)
        with self.page.expect_navigation() as gone:
            self.page.evaluate(FORCE, path)
        assert gone.value.status == 409, self.words()[:400]
        self.complaints[:] = [one for one in self.complaints if "409" not in one]
        return self.words()

    def read(self, path: str) -> str:
        self.open(path)
        return self.words()

    def words(self) -> str:
        """Title and text of the page that is open, white space folded."""
        return f"{self.page.title()} {' '.join(self.page.evaluate('document.body.textContent').split())}"

    def links(self, path: str) -> list[str]:
        self.open(path)
        found: list[str] = self.page.evaluate(
            "[...document.querySelectorAll('a[href]')].map((a) => a.getAttribute('href'))"
            ".concat([...document.querySelectorAll('form')].map((form) => form.getAttribute('action')))")
        return found

    def fields(self, path: str, action: str = "") -> dict[str, Any]:
        self.open(path)
        self._form(action or path.split("?")[0], [])
        held: dict[str, Any] = self.page.evaluate("Object.fromEntries(new FormData(document.querySelector('[data-here]')))")
        return held

    def choices(self, path: str) -> dict[str, dict[str, str]]:
        self.open(path)
        self._form(path.split("?")[0], [])
        offered: dict[str, dict[str, str]] = self.page.evaluate(CHOICES)
        return offered

    def back_again(self) -> None:
        self.sign_in_again()

    def _form(self, path: str, names: list[str]) -> Locator:
        assert self.page.evaluate(MARK, [path, names]), f"{self.page.url} has no form to {path} with {names}: {self.words()[:400]}"
        return self.page.locator("[data-here]")
