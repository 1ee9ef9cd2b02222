"""A browser for tests that reads every page it gets: valid HTML, one title, no double id, forms that lead somewhere."""

from __future__ import annotations

import io
import re
import secrets
from typing import Any
from xml.etree import ElementTree as Xml

import html5lib
from flask import Flask, g, has_app_context
from werkzeug.test import TestResponse

from app import clock
from app.access import service
from app.access.models import Person
from app.db import end_reading, session, transaction
from app.kernel.tokens import SIGN_IN_COOKIE
from tests.people import Somebody

HTML = "{http://www.w3.org/1999/xhtml}"


class Page:
    """One answer, parsed."""

    def __init__(self, response: TestResponse) -> None:
        self.response = response
        self.status = response.status_code
        self.text = response.get_data(as_text=True) if response.mimetype.startswith("text/") else ""
        self.root: Xml.Element = Xml.Element("nothing")
        if response.mimetype == "text/html":
            parser = html5lib.HTMLParser(html5lib.getTreeBuilder("etree"), strict=True)
            self.root = parser.parse(self.text)

    @property
    def words(self) -> str:
        """All that can be read on it, white space folded."""
        return re.sub(r"\s+", " ", " ".join(self.root.itertext())).strip()

    @property
    def title(self) -> str:
        return (self.root.findtext(f".//{HTML}title") or "").strip()

    def all(self, tag: str, **attributes: str) -> list[Xml.Element]:
        wanted = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return [e for e in self.root.iter(HTML + tag) if all(e.get(n) == v for n, v in wanted.items())]

    def links(self) -> list[str]:
        return [e.get("href", "") for e in self.all("a")]

    def form(self, action: str | None = None) -> Xml.Element:
        """The form with this action, anywhere; without one, the first form in main."""
        main = self.root.find(f".//{HTML}main")
        found = [f for f in (self.root if action or main is None else main).iter(HTML + "form")
                 if action is None or f.get("action", "").split("?")[0] == action]
        assert found, f"no form {action or ''} on “{self.title}”"
        return found[0]

    def fields(self, action: str | None = None) -> dict[str, Any]:
        """What this form would send if it were sent as it stands."""
        return values(self.form(action))


def values(form: Xml.Element) -> dict[str, Any]:
    """What this form would send if it were sent as it stands."""
    sent: dict[str, Any] = {}
    for element in form.iter():
        name, tag = element.get("name"), element.tag.removeprefix(HTML)
        if not name or tag == "button":
            continue
        kind = element.get("type", "text")
        if tag == "select":
            options = list(element.iter(HTML + "option"))
            chosen = [o for o in options if o.get("selected") is not None] or options[:1]
            value: Any = chosen[0].get("value", chosen[0].text or "") if chosen else ""
        elif tag == "textarea":
            value = (element.text or "").removeprefix("\n")
        elif kind in ("checkbox", "radio"):
            if element.get("checked") is None:
                continue
            value = element.get("value", "on")
        elif kind in ("file", "submit"):
            continue
        else:
            value = element.get("value", "")
        if name in sent:
            sent[name] = [*(sent[name] if isinstance(sent[name], list) else [sent[name]]), value]
        else:
            sent[name] = value
    return sent


class PageClient:
    """Asks for pages and checks each."""

    def __init__(self, app: Flask) -> None:
        self.app = app
        self.client = app.test_client()

    def sign_in(self, who: Somebody) -> PageClient:
        """Signed in without the slow password check: the sign-in page has tests of its own."""
        with self.app.app_context(), transaction():
            person = session().get(Person, who.id)
            assert person is not None
            _, token = service.open_sign_in(person, None, agent="a browser", by_password=True, now=clock.now())
        self.client.set_cookie(SIGN_IN_COOKIE, token)
        return self

    def get(self, path: str, *, status: int = 200, follow: bool = True) -> Page:
        return self._read(self.client.get(path, follow_redirects=follow), status)

    def post(self, path: str, data: dict[str, Any] | None = None, *, status: int = 200, follow: bool = True,
             form_on: str | None = None, action: str | None = None) -> Page:
        """Post `data` over what the form on its page (`form_on`, else `path`) holds; the page's tokens come along."""
        page = self.get(form_on or path)
        fields = {**page.fields(action or path), **(data or {})}
        return self.send(path, fields, status=status, follow=follow)

    def send(self, path: str, fields: dict[str, Any], *, status: int = 200, follow: bool = True) -> Page:
        """Post exactly these fields; bytes become uploads."""
        sent = {name: _upload(value) for name, value in fields.items() if value is not None}
        return self._read(self.client.post(path, data=sent, follow_redirects=follow), status)

    def token(self) -> dict[str, str]:
        """The two hidden fields, for a form that stands on no page of its own."""
        fields = self.get("/").all("input", name="page_token")
        return {"page_token": fields[0].get("value", ""), "once": secrets.token_hex(16)}

    def _read(self, response: TestResponse, status: int) -> Page:
        if "db_session" in _context_values():
            end_reading()
        page = Page(response)
        assert page.status == status, f"{page.status} instead of {status}: {page.title} {page.words[:600]}"
        if response.mimetype == "text/html":
            check(page)
        return page


def check(page: Page) -> None:
    """What must hold on every page."""
    assert len(page.all("title")) == 1 and page.title, "one title"
    assert len(page.all("h1")) == 1, f"one h1 on “{page.title}”, not {len(page.all('h1'))}"
    ids = [e.get("id") for e in page.root.iter() if e.get("id")]
    assert len(ids) == len(set(ids)), f"double id on “{page.title}”: {sorted(i for i in ids if ids.count(i) > 1)}"
    for element in page.root.iter():
        assert "style" not in element.attrib, "no style attributes: the page's policy refuses them"
        assert not [name for name in element.attrib if name.startswith("on")], "no inline handlers"
    for form in page.all("form"):
        assert form.get("action"), f"a form without action on “{page.title}”"
        if form.get("method") == "post":
            assert [e for e in form.iter(HTML + "input") if e.get("name") == "page_token"], f"no token: {form.get('action')}"
    for image in page.all("img"):
        assert image.get("alt") is not None, "every image has a text alternative"
    for label in page.all("label"):
        assert label.get("for") in ids, f"label for nothing: {label.get('for')}"


def _upload(value: Any) -> Any:
    if isinstance(value, bytes):
        return (io.BytesIO(value), "photo.jpg")
    if isinstance(value, list):
        return [_upload(one) for one in value]
    if isinstance(value, tuple):
        return (io.BytesIO(value[0]), *value[1:])
    return value


def _context_values() -> Any:


    return g if has_app_context() else ()
