"""The program's files change under a running server, as by `git pull`: no page, sheet or paper of that server breaks."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from app import clock, create_app
from app.access import service as access
from app.access.models import Person
from app.db import session, transaction
from tests import factories
from tests.conftest import configure
from tests.faults.shop import ROOT, Browser, Shop
from tests.people import Cast

pytestmark = pytest.mark.fault
TREE = ("app", "templates", "static", "migrations")
PAGES = ("/", "/shop", "/people", "/limits/sources", "/glossary", "/sums", "/sums/reservoir", "/sums/stage", "/sums/push-pull",
         "/instruments", "/search?q=amp", "/nowhere",
         "/healthz", "/orders/1", "/orders/1/photos", "/orders/1/findings", "/orders/1/papers/receipt", "/orders/1/papers/report")


class CopiedShop(Shop):
    """Served by a copy of the program that may be spoilt."""

    def launch(self) -> None:
        self.program = self.data.parent / "program"
        for name in TREE:
            shutil.copytree(ROOT / name, self.program / name, ignore=shutil.ignore_patterns("__pycache__"))
        env = {name: value for name, value in os.environ.items() if not name.startswith(("TAGSTRIP_", "PYTHONPATH"))}
        with (self.data / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "app.cli", "serve", "--data", str(self.data), "--port", str(self.port)], cwd=self.program,
                env=env, start_new_session=True, stdout=subprocess.DEVNULL, stderr=log)

    def spoil(self) -> None:
        """Every file of the program is another now, and some are gone."""
        for number, path in enumerate(sorted(one for one in self.program.rglob("*.*") if one.is_file())):
            if number % 3:
                path.write_text("{% raise SystemExit of a newer version")
            else:
                path.unlink()


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Iterator[tuple[CopiedShop, Browser]]:
    data = tmp_path / "shop"
    data.mkdir()
    shutil.copy(sqlite_templates[1], data / "tagstrip.db")
    app = create_app(configure(data, f"sqlite:///{data / 'tagstrip.db'}"))
    with app.app_context(), transaction():
        factories.order(now=clock.now())
        _, token = access.open_sign_in(session().get_one(Person, sqlite_templates[2].owner.id), None, agent="",
                                        by_password=True, now=clock.now())
    app.extensions["tagstrip_db"].close()
    found = CopiedShop(data, "")
    found.start()
    yield found, Browser(found, token)
    found.kill()


def test_no_page_sheet_or_paper_of_a_running_server_breaks(shop: tuple[CopiedShop, Browser]) -> None:
    served, browser = shop
    sheet, script = browser.ask("/static/css/base.css"), browser.ask("/static/js/draft.mjs")
    assert sheet[0] == script[0] == 200
    served.spoil()
    for path in PAGES:
        status, page = browser.ask(path)
        assert status == (404 if path == "/nowhere" else 200), (path, page[-600:])
        assert path == "/healthz" or "</html>" in page
    assert browser.ask("/static/css/base.css") == sheet and browser.ask("/static/js/draft.mjs") == script
    assert browser.ask("/static/js/nothing.mjs")[0] == 404
    path = "/orders/1/papers/receipt"
    assert browser.ask(path, browser.fields(path), timeout=60)[0] == 303
    assert browser.ask("/papers/1/file")[1].startswith("%PDF")
