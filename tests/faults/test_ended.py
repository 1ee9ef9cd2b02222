"""SIGTERM, as a service manager sends it: what runs is finished, a paper too, then the server ends with 0."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock, create_app
from app.access import service as access
from app.access.models import Person
from app.db import session, transaction
from app.documents.models import IssuedDocument
from tests import factories
from tests.conftest import configure
from tests.faults.shop import ROOT, Browser, Shop
from tests.people import Cast

pytestmark = pytest.mark.fault
SLOW = 8  # seconds: longer than a server that only waits for ordinary pages would
SLOW_PAPERS = f"""
import sys, time
if any("render_child" in word for word in sys.orig_argv):
    time.sleep({SLOW})
"""


class SlowShop(Shop):
    """Its papers take their time, by a module that Python loads first."""

    def launch(self) -> None:
        slow = self.data.parent / "slow"
        slow.mkdir(exist_ok=True)
        (slow / "sitecustomize.py").write_text(SLOW_PAPERS)
        env = {name: value for name, value in os.environ.items() if not name.startswith("TAGSTRIP_")}
        with (self.data / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "app.cli", "serve", "--data", str(self.data), "--port", str(self.port)], cwd=ROOT,
                env={**env, "PYTHONPATH": str(slow)}, start_new_session=True, stdout=subprocess.DEVNULL, stderr=log)


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Iterator[tuple[SlowShop, Flask, Browser, int]]:
    data = tmp_path / "shop"
    data.mkdir()
    shutil.copy(sqlite_templates[1], data / "tagstrip.db")
    app = create_app(configure(data, f"sqlite:///{data / 'tagstrip.db'}"))
    found = SlowShop(data, "")
    found.start()
    with app.app_context(), transaction():
        order_id = factories.order(now=clock.now()).id
        _, token = access.open_sign_in(session().get_one(Person, sqlite_templates[2].owner.id), None, agent="",
                                        by_password=True, now=clock.now())
    yield found, app, Browser(found, token), order_id
    if found.process is not None and found.process.poll() is None:
        found.kill()
    app.extensions["tagstrip_db"].close()


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_paper_that_is_being_made_is_finished_and_issued(shop: tuple[SlowShop, Flask, Browser, int], how: signal.Signals) -> None:
    served, app, browser, order_id = shop
    assert served.process is not None
    path, answers = f"/orders/{order_id}/papers/receipt", list[int]()
    form = browser.fields(path)
    issuing = threading.Thread(target=lambda: answers.append(browser.ask(path, form, timeout=60)[0]))
    issuing.start()
    time.sleep(2)
    began = time.monotonic()
    served.process.send_signal(how)
    issuing.join()
    assert answers == [303]
    assert served.process.wait(30) == 0
    assert time.monotonic() - began < 30
    with app.app_context():
        paper = session().scalars(sa.select(IssuedDocument)).one()
        assert paper.media_type == "application/pdf"


def test_with_nothing_to_do_it_ends_at_once(shop: tuple[SlowShop, Flask, Browser, int]) -> None:
    served, _, browser, _ = shop
    assert served.process is not None and browser.ask("/")[0] == 200
    began = time.monotonic()
    served.process.send_signal(signal.SIGTERM)
    assert served.process.wait(30) == 0 and time.monotonic() - began < 6
