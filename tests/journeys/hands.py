"""Whoever sits before the screen. A journey is written once and walked by several hands: page by page here."""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any, Protocol
from xml.etree import ElementTree as Xml

from app import clock
from tests.pages import HTML, Page, PageClient, values
from tests.people import Somebody

PEN = "M40 120L60 80L90 140L130 70L170 130L230 90"  # what the pad keeps when somebody signs
SIGNED = object()  # in a form's entries: somebody signs here


class Hand(Protocol):
    """One person at one device."""

    def do(self, path: str, entered: dict[str, Any] | None = None, *, on: str = "", way: str = "") -> str:
        """Open the page (`on`, else `path`), fill its form that leads to `path`, send it; returns the words of the next page.

        `way` is the value of the button to press where there are several.
        """

    def refused(self, path: str, on: str) -> str:
        """Send to `path` what its form would, from the page `on`; it is refused, and these are the words of the refusal."""

    def read(self, path: str) -> str:
        """The words of a page."""

    def links(self, path: str) -> list[str]:
        """Where the page leads, forms included."""

    def fields(self, path: str, action: str = "") -> dict[str, Any]:
        """What its form holds."""

    def choices(self, path: str) -> dict[str, dict[str, str]]:
        """What can be chosen in the page's main form: field → value → its words."""

    def back_again(self) -> None:
        """Sign in once more, after a long time away."""


class Wristwatch:
    """The shop's clock, which a test can put forward: a soak run takes two hours and no test may wait."""

    def __init__(self) -> None:
        self.ahead = timedelta(0)
        self._now = clock.now

    def now(self) -> datetime:
        return self._now() + self.ahead


class PageHand:
    """Reads and sends pages without a browser; every page on the way is checked."""

    def __init__(self, client: PageClient, who: Somebody) -> None:
        self.client, self.who = client, who

    def do(self, path: str, entered: dict[str, Any] | None = None, *, on: str = "", way: str = "") -> str:
        page = self.client.get(on or path)
        form, sent = _form(page, path.split("?")[0], entered or {})
        for name, value in (entered or {}).items():
            sent[name] = PEN if value is SIGNED else ("y" if value is True else value)
        if way:
            button = next(e for e in form.iter(HTML + "button") if e.get("value") == way)
            sent[button.get("name", "")] = way
        answer = self.client.send(path, sent)
        assert not answer.title.startswith("Error:"), f"{path}: {answer.words[:700]}"
        return answer.words

    def refused(self, path: str, on: str) -> str:
        return self.client.send(path, self.client.token(), status=409).words

    def read(self, path: str) -> str:
        return self.client.get(path).words

    def links(self, path: str) -> list[str]:
        page = self.client.get(path)
        return page.links() + [form.get("action", "") for form in page.all("form")]

    def fields(self, path: str, action: str = "") -> dict[str, Any]:
        return _form(self.client.get(path), action or path.split("?")[0], {})[1]

    def choices(self, path: str) -> dict[str, dict[str, str]]:
        form, _ = _form(self.client.get(path), path.split("?")[0], {})
        words = {e.get("for"): "".join(e.itertext()).strip() for e in form.iter(HTML + "label")}
        offered: dict[str, dict[str, str]] = {}
        for element in form.iter():
            name = element.get("name", "")
            if element.tag == HTML + "select":
                offered[name] = {o.get("value", ""): (o.text or "").strip() for o in element.iter(HTML + "option")}
            elif element.get("type") in ("radio", "checkbox"):
                offered.setdefault(name, {})[element.get("value", "on")] = words.get(element.get("id"), "")
        return offered

    def back_again(self) -> None:
        self.client.sign_in(self.who)


def _form(page: Page, action: str, entered: Collection[str]) -> tuple[Xml.Element, dict[str, Any]]:
    """The form that is sent to this address and has these fields, and what it holds."""
    main = page.root.find(f".//{HTML}main")
    above = action.endswith("/power-off")  # the bar of an amp that is on stands above the page
    forms = [f for f in (page.root if above or main is None else main).iter(HTML + "form")
             if f.get("action", "").split("?")[0] == action and f.get("method") == "post"]
    assert forms, f"no form on “{page.title}” is sent to {action}: {page.words[:300]}"
    for form in forms:
        names = {e.get("name") for e in form.iter()}
        if names.issuperset(entered):
            return form, values(form)
    raise AssertionError(f"no form on “{page.title}” has all of {sorted(entered)}")


def found(hand: Hand, path: str, pattern: str) -> str:
    """The first link of the page that matches."""
    links = hand.links(path)
    hits = [link for link in links if re.search(pattern, link)]
    assert hits, f"{path} leads nowhere like {pattern}: {links}"
    return hits[0]


def number_in(link: str) -> int:
    """The last number of an address."""
    return int(re.findall(r"\d+", link)[-1])
