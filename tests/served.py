"""A shop on loopback for a real browser: the one way to serve it, the one way to start Chromium, a device already signed in."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from flask import Flask
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from werkzeug.serving import WSGIRequestHandler, make_server

from app import clock
from app.access import service as accounts
from app.access.models import Person
from app.db import session, transaction
from app.kernel.tokens import SIGN_IN_COOKIE

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

TABLET = {"width": 1180, "height": 820}
PATIENCE = 30_000  # ms
READY = "html[data-ready]"
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]


class _Silent(WSGIRequestHandler):
    def log_request(self, *_args: object) -> None:
        """Nothing: what goes wrong is seen in the browser."""


def whole(app: Flask) -> WSGIApplication:
    """Its answers in one piece: the server leaves a streamed file open when a browser goes away in the middle of it."""
    def answer(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        body = app(environ, start_response)
        try:
            return [b"".join(body)]
        finally:
            if hasattr(body, "close"):
                body.close()

    return answer


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """The address at which `app` answers."""
    server = make_server("127.0.0.1", 0, whole(app), threaded=True, request_handler=_Silent)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's Chromium: the drivers' own downloads are not reachable everywhere. One at a time in a process.

    What is expected of a page is waited for as long as what is done to it: a busy machine fails no test.
    """
    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as play:
        found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
        browser = play.chromium.launch(executable_path=found, args=QUIET)
        try:
            yield browser
        finally:
            browser.close()


def tablet(browser: Browser, address: str) -> BrowserContext:
    """A touch device of the bench tablet's size."""
    context = browser.new_context(base_url=address, viewport=TABLET, has_touch=True)
    context.set_default_timeout(PATIENCE)
    return context


def sign_in(context: BrowserContext, app: Flask, address: str, person_id: int) -> None:
    """As if the person had signed in at this device before."""
    with app.app_context(), transaction():
        person = session().get(Person, person_id)
        assert person is not None
        _, token = accounts.open_sign_in(person, None, agent="a tablet", by_password=True, now=clock.now())
    context.add_cookies([{"name": SIGN_IN_COOKIE, "value": token, "url": address}])


def watched(context: BrowserContext, complaints: list[str]) -> Page:
    """A page whose errors, warnings and requests to other hosts are written down."""
    page = context.new_page()
    page.on("console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None)
    page.on("pageerror", lambda wrong: complaints.append(str(wrong)))
    page.on("request", lambda asked: complaints.append(f"asked for {asked.url}") if elsewhere(asked.url) else None)
    return page


def elsewhere(url: str) -> bool:
    """Whether an address is another host's."""
    parts = urlsplit(url)
    return parts.scheme in ("http", "https", "ws", "wss") and parts.hostname != "127.0.0.1"


def ready(page: Page) -> None:
    """Wait until the page's modules are at work."""
    page.wait_for_selector(READY, state="attached")
