"""A real browser before a served shop, on loopback."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator

import pytest
from flask import Flask
from playwright.sync_api import Browser, sync_playwright
from werkzeug.serving import WSGIRequestHandler, make_server

from app import clock
from tests.journeys.hands import Wristwatch

QUIET = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]


class _Silent(WSGIRequestHandler):
    def log_request(self, *_args: object) -> None:
        """Nothing: what goes wrong is seen in the browser."""


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium: the drivers' own downloads are not reachable everywhere."""
    with sync_playwright() as play:
        found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
        browser = play.chromium.launch(executable_path=found, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def watch(monkeypatch: pytest.MonkeyPatch) -> Wristwatch:
    """The shop's clock, which can be put forward."""
    made = Wristwatch()
    monkeypatch.setattr(clock, "now", made.now)
    return made


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    """The shop of `app`, served."""
    server = make_server("127.0.0.1", 0, app, threaded=True, request_handler=_Silent)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()
