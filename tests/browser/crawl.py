"""Finding every page that a person can come to: from the bench list on, one address for each kind of page."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable
from urllib.parse import urljoin, urlsplit

import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.exceptions import HTTPException

from app import clock
from app.access.models import SignIn
from app.db import transaction

# The argument by which pages of one address differ in kind, not only in the record they show.
KINDS = ("kind", "key", "subject")
ALIKE = ("journal.", "sums.", "catalogue.", "photos.", "staff.")  # one of each kind stands for all
# No page that a signed-in person comes to by a link: asked for by scripts and monitors, sent on at once, before a sign-in,
# come to by a search alone, or shown only when a form of another page has errors.
NOT_PAGES = frozenset({
    "intake.find", "search.box", "exchange.listed_part", "device.font",
    "health.healthz", "static", "photos.show", "drawings.show", "documents.file", "trust.ca", "sums.answer",
    "removals.sketch", "removals.again", "safety.end_soak",
    "first_start.page", "access.sign_in", "access.by_pin", "staff.enrol", "staff.set_password", "device.held",
    "measuring.following",
    "trust.trust"})


def pages(app: Flask, client: FlaskClient, read: Callable[[str, str], None] | None = None) -> dict[str, str]:
    """Kind of page → the first address of that kind, of all that can be come to from the bench list; `read` gets each page."""
    found: dict[str, str] = {}
    seen, waiting = {"/"}, deque(["/"])
    while waiting:
        path = waiting.popleft()
        kind = kind_of(app, path)
        if not kind or (kind in found and kind.startswith(ALIKE)):
            continue
        if asks_password(app, path):
            password_again(app)
        answer = client.get(path)
        assert answer.status_code in (200, 303), f"{path} answers {answer.status_code}: a dead link"
        if answer.mimetype != "text/html" or answer.status_code == 303:
            continue
        found.setdefault(kind, path)
        if read is not None:
            read(path, answer.get_data(as_text=True))
        for link in re.findall(r'<a[^>]*\shref="([^"#]+)', answer.get_data(as_text=True)):
            there = urljoin(path, link.replace("&amp;", "&"))
            if urlsplit(there).netloc:  # a source's own address, on somebody else's server
                continue
            plain = there if kind_of(app, there).endswith("new") else there.split("?")[0]
            if plain not in seen:
                seen.add(plain)
                waiting.append(there)
    return found


def asks_password(app: Flask, path: str) -> bool:
    """Whether the page wants the password to have been given a moment ago."""
    endpoint, _ = app.url_map.bind("").match(urlsplit(path).path, method="GET")
    return getattr(app.view_functions[endpoint], "asks_password", False)


def password_again(app: Flask) -> None:
    """As if everybody had just given theirs: a walk takes longer than a password counts."""
    with app.app_context(), transaction() as current:
        current.execute(sa.update(SignIn).values(password_at=clock.now()).execution_options(synchronize_session=False))


def kind_of(app: Flask, path: str) -> str:
    """Which view an address of ours is, with what tells its kind; empty if it is no page."""
    if urlsplit(path).scheme in ("tel", "sms", "mailto"):
        return ""
    try:
        endpoint, values = app.url_map.bind("").match(urlsplit(path).path, method="GET")
    except HTTPException as wrong:
        raise AssertionError(f"{path} leads nowhere") from wrong
    if endpoint in NOT_PAGES:
        return ""
    told = [str(values[name]) for name in KINDS if name in values]
    return " ".join([endpoint, *told, *(["new"] if endpoint == "intake.new" and "new" in path else [])])


def views(app: Flask) -> set[str]:
    """Every view that answers a GET with a page."""
    return {rule.endpoint for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())} - NOT_PAGES
