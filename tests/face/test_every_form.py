"""Every form of a furnished shop, sent empty and sent wrong: each error leads to its field, and what must be filled in is known.

WCAG 2.2, 3.3.1 (the item in error is identified) and 3.3.2 (labels: what must be entered is known). Nothing of what is sent is
kept, so that each form is tried in the same shop.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from xml.etree.ElementTree import Element

import pytest
from flask import Flask
from wtforms import Field

from app.db import transaction
from app.kernel import saving
from app.kernel.form_fields import House
from tests.browser import crawl
from tests.browser.furnished import furnish
from tests.pages import HTML, Page, PageClient, values
from tests.people import Cast

pytestmark = pytest.mark.timeout(600)
OWN_KEY = ("page_token", "once", "version")
FOCUSABLE = ("input", "select", "textarea", "button")
# Neither required by its form nor optional.
LATER = {"serial": "the intake's gate asks for it; its hint says what to enter if there is none", "mains_marking": "the same",
         "maker": "asked for by the rules of records, once the form itself can be read", "model": "the same",
         "volts": "each capacitor's reading is asked for by the rules of the discharge record"}
# Asked for by another button than the first: whoever adds a person names them, whoever saves the three roles adds nobody.
OTHER_BUTTON = {("/intake/people", "name")}
NOT_FORMS = ("access.", "device.", "staff.")  # a wrong password has its own page, and no fields to lead to


class _Undo(Exception):
    """What is done is taken back."""


@contextmanager
def never_kept() -> Iterator[Any]:
    try:
        with transaction() as current:
            yield current
            raise _Undo
    except _Undo:
        pass


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def forms(app: Flask, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> tuple[PageClient, list[tuple[str, Element]]]:
    """The owner's browser, and every kind of form with the page on which it stands."""
    with app.app_context():
        furnish()
    owner = PageClient(app).sign_in(cast.owner)
    found: dict[tuple[str, tuple[str, ...]], tuple[str, Element]] = {}
    for path in crawl.pages(app, owner.client).values():
        if crawl.asks_password(app, path):
            crawl.password_again(app)
        for form in owner.get(path).all("form"):
            action = form.get("action", "")
            if form.get("method") != "post":
                continue
            endpoint, _ = app.url_map.bind("").match(action.split("?")[0], method="POST")
            if not str(endpoint).startswith(NOT_FORMS):
                found.setdefault((endpoint, tuple(sorted(values(form)))), (path, form))
    monkeypatch.setattr(saving, "transaction", never_kept)
    assert len(found) > 60
    return owner, list(found.values())


def spoilt(form: Element, words: str) -> dict[str, Any]:
    """What the form would send with `words` in everything that can be typed or chosen."""
    sent = {name: value for name, value in values(form).items() if name in OWN_KEY}
    for field in form.iter():
        name, kind = field.get("name"), field.get("type", "")
        if name and kind not in ("hidden", "file", "submit") and field.tag != f"{HTML}button":
            sent[name] = words
        elif name and kind == "hidden":
            sent.setdefault(name, field.get("value", ""))
    return sent


def dead_links(page: Page) -> list[str]:
    """What the summary leads to that is not there or cannot take the focus."""
    summary = next((one for one in page.all("section") if one.get("class") == "errors"), None)
    if summary is None:
        return []
    there = {one.get("id"): one for one in page.root.iter() if one.get("id")}
    found = []
    for link in summary.iter(f"{HTML}a"):
        target = there.get(link.get("href", "").removeprefix("#"))
        takes_it = target is not None and target.get("type") != "hidden" and (
            target.tag.removeprefix(HTML) in FOCUSABLE or target.get("tabindex") is not None)
        if not takes_it:
            found.append(f"{link.get('href')} ({' '.join(link.itertext())})")
    return found


def send(client: PageClient, form: Element, fields: dict[str, Any]) -> Page:
    answer = client.client.post(form.get("action"), data={name: value for name, value in fields.items() if value is not None})
    assert answer.status_code < 500, form.get("action")
    return Page(answer)


def test_errors_lead_to_their_fields_and_what_is_required_is_known(forms: tuple[PageClient, list[tuple[str, Element]]],
                                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    """One shop for all of it: it takes a while to furnish."""
    client, found = forms
    faults = errors_that_lead_nowhere(client, found) + optional_and_not(client, found) + shared_drafts(client, found)
    monkeypatch.setattr(House, "validate", refuse_all)
    faults += [f"{form.get('action')}, refused: {one}" for _, form in found for one in dead_links(send(client, form, values(form)))]
    assert not faults, "\n".join(["", *faults])


def errors_that_lead_nowhere(client: PageClient, found: list[tuple[str, Element]]) -> list[str]:
    dead, seen = [], 0
    for path, form in found:
        for words in ("", "?!", "9" * 400):
            page = send(client, form, spoilt(form, words))
            seen += any(one.get("class") == "errors" for one in page.all("section"))
            dead += [f"{path} sent with {words[:5]!r}: {one}" for one in dead_links(page)]
    assert seen > 60
    return dead


def leaves(form: Any) -> Iterator[Field]:
    for field in form:
        if hasattr(field, "entries"):
            for entry in field.entries:
                yield from leaves(entry.form) if hasattr(entry, "form") else [entry]
        else:
            yield field


def refuse_all(form: House, *_: Any) -> bool:
    """Each field refused at once, as if a rule had spoken of it."""
    for field in leaves(form):
        field.errors = [f"{field.name} is refused"]
    return False


def labels(form: Element) -> dict[str, str]:
    found = {one.get("for", ""): " ".join(one.itertext()) for one in form.iter(f"{HTML}label")}
    for group in form.iter(f"{HTML}fieldset"):
        legend = group.find(f"{HTML}legend")
        for field in group.iter(f"{HTML}input"):
            if legend is not None and field.get("type") in ("radio", "file"):
                found[field.get("id", "")] = " ".join(legend.itertext())
    return found


def optional_and_not(client: PageClient, found: list[tuple[str, Element]]) -> list[str]:
    """What is required says "optional", or what may stay empty does not."""
    wrong = []
    for path, form in found:
        page = send(client, form, spoilt(form, ""))
        asked = {link.get("href", "").removeprefix("#") for one in page.all("section") if one.get("class") == "errors"
                 for link in one.iter(f"{HTML}a")}
        said = labels(form)
        for field in form.iter():
            name, words = field.get("id", ""), said.get(field.get("id", ""), "")
            if not words or field.tag.removeprefix(HTML) not in FOCUSABLE:
                continue
            if "(optional)" in words and (name in asked or field.get("required") is not None):
                wrong.append(f"{path} #{name}: optional, and asked for: {' '.join(words.split())}")
            typed = field.tag == f"{HTML}textarea" or (field.tag == f"{HTML}input" and field.get("type") in (
                "text", "tel", "email", "date", "time"))
            if any(path.endswith(end) and name == one for end, one in OTHER_BUTTON):
                continue
            if typed and asked and name not in asked and name.rstrip("_0123456789") not in LATER and "(optional)" not in words:
                wrong.append(f"{path} #{name}: may stay empty and does not say so: {' '.join(words.split())}")
    return wrong


def shared_drafts(client: PageClient, found: list[tuple[str, Element]]) -> list[str]:
    """Pages of which two forms would keep what is typed in one place."""
    shared = []
    for path in {path for path, _ in found}:
        drafts = [one.get("data-draft") for one in client.get(path).all("form") if one.get("data-draft")
                  and any(field.get("type") not in ("hidden", None) for field in one.iter(f"{HTML}input"))]
        if len(drafts) != len(set(drafts)):
            shared.append(path)
    return shared
