"""`bench`: what this machine needs for the program's heavy parts, each as a ratio to something plain timed in the same run.

A ratio hardly depends on the machine, so that two versions can be compared across machines; the milliseconds are for the user.
Everything happens in a folder that is made for it and removed.
"""

from __future__ import annotations

import argparse
import gc
import graphlib
import io
import json
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from app import clock, config, create_app
from app import migrate as schema
from app.commands.people import CONSOLE

if TYPE_CHECKING:
    from flask import Flask

STEPS = 5000
MEGAPIXELS = (4000, 3000)
ORDERS = 20


@dataclass(frozen=True)
class Figure:
    """Medians of n runs each, taken in turns: ms of the thing itself and of the plain thing beside it."""

    what: str
    beside: str
    n: int
    ms: float
    beside_ms: float

    @property
    def ratio(self) -> float:
        return self.ms / self.beside_ms


def bench(given: argparse.Namespace) -> None:
    """Measure, and print a table or JSON."""
    with tempfile.TemporaryDirectory(prefix="tagstrip-bench-") as folder:
        found = list(measure(Path(folder)))
    if given.json:
        print(json.dumps({"figures": [asdict(one) | {"ratio": round(one.ratio, 3)} for one in found],
                          "peak_rss_mb": peak_mb()}, indent=1))
        return
    print(f"{'what':<36} {'ms':>9} {'beside':<38} {'ms':>9} {'ratio':>8} {'n':>4}")
    for one in found:
        print(f"{one.what:<36} {one.ms:>9.2f} {one.beside:<38} {one.beside_ms:>9.2f} {one.ratio:>8.2f} {one.n:>4}")
    print(f"Medians. Peak memory {peak_mb():.0f} MB.")


def measure(folder: Path) -> Iterator[Figure]:
    """Every figure, in turn. Nothing outside `folder` is read or written."""
    app = _shop(folder)
    yield from _pages(app)
    yield _commits(app, folder / "plain.db")
    yield _photo()
    yield _supply()
    yield _planner()
    app.extensions["tagstrip_db"].engine.dispose()


def peak_mb() -> float:
    """The most memory this process has held, in MB."""
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e6 if sys.platform == "darwin" else 1e3)


def compare(what: str, thing: Callable[[], object], beside: str, plain: Callable[[], object], n: int) -> Figure:
    """Both in turns, so that a busy moment of the machine hits both; once each beforehand to warm up."""
    taken: tuple[list[float], list[float]] = ([], [])
    for run in range(n + 1):
        for times, call in zip(taken, (thing, plain), strict=True):
            gc.collect()
            began = time.perf_counter()
            call()
            if run:
                times.append((time.perf_counter() - began) * 1000)
    return Figure(what, beside, n, statistics.median(taken[0]), statistics.median(taken[1]))


def _shop(folder: Path) -> Flask:
    from app.db import transaction
    from app.intake.service.records import AmpFacts, CustomerFacts, add_amp, add_customer
    from app.orders.service import open_order
    from app.shop.service import open_shop

    settings = config.Config(folder, f"sqlite:///{folder / 'bench.db'}", (folder / "photos").as_uri(), "only for this run")
    app = create_app(settings)
    schema.upgrade(app.extensions["tagstrip_db"].engine)
    now = clock.now()
    with app.app_context(), transaction():
        open_shop("Bench", by=CONSOLE, now=now)
        for number in range(ORDERS):
            who = add_customer(CustomerFacts(f"Customer {number}", phone="555 0100"), by=CONSOLE, now=now)
            amp = add_amp(AmpFacts("Tarnholt", f"Meridian {number}", f"M-{number}"), by=CONSOLE, now=now)
            open_order(amp_id=amp.id, depositor_id=who.id, owner_id=who.id, authority_id=who.id, first_number=1001,
                       by=CONSOLE, now=now)
    return app


def _pages(app: Flask) -> Iterator[Figure]:
    from flask import render_template_string

    from app.accounts.rules import Role
    from app.accounts.service import add_person, open_sign_in
    from app.db import transaction
    from app.web.tokens import SIGN_IN_COOKIE

    with app.app_context(), transaction():
        person = add_person("Bench", Role.OWNER, "copper kettle on a slow stove", by=CONSOLE, now=clock.now())
        token = open_sign_in(person, None, agent="a browser", now=clock.now())[1]
    browser = app.test_client()
    browser.set_cookie(SIGN_IN_COOKIE, token)

    def ask(path: str) -> Callable[[], object]:
        def asked() -> object:
            answer = browser.get(path)
            if answer.status_code != 200:
                raise RuntimeError(f"{path} answered {answer.status_code}")
            return answer

        return asked

    def empty() -> object:
        with app.test_request_context("/"):
            return render_template_string("{% extends 'base.html' %}")

    yield compare(f"bench list, {ORDERS} orders", ask("/"), "rendering an empty page", empty, 3)
    yield compare("one order's page", ask("/orders/1"), "rendering an empty page", empty, 3)


def _commits(app: Flask, plain: Path) -> Figure:
    from app.db import journal_mode, transaction
    from app.intake.service.records import CustomerFacts, add_customer

    beside = sqlite3.connect(plain, isolation_level=None)
    beside.execute(f"PRAGMA journal_mode={journal_mode()}")
    beside.execute("PRAGMA synchronous=FULL")
    beside.execute("CREATE TABLE one (id INTEGER PRIMARY KEY, words TEXT)")

    def ours() -> None:
        with app.app_context(), transaction():
            add_customer(CustomerFacts("Somebody", phone="555 0100"), by=CONSOLE, now=clock.now())

    def bare() -> None:
        beside.execute("BEGIN IMMEDIATE")
        beside.execute("INSERT INTO one (words) VALUES ('Somebody')")
        beside.execute("COMMIT")

    found = compare("a record and its journal entry, saved", ours, "one row committed by sqlite3, synced", bare, 7)
    beside.close()
    return found


def _photo() -> Figure:
    from PIL import Image

    from app.photos.picture import read

    noise = [Image.effect_noise((1000, 750), spread).resize(MEGAPIXELS) for spread in (40, 80, 60)]
    taken = io.BytesIO()
    Image.merge("RGB", noise).save(taken, "JPEG", quality=85)
    data = taken.getvalue()

    def decode() -> None:
        with Image.open(io.BytesIO(data)) as opened:
            opened.load()

    return compare("a 12 MP photo taken in, two copies", lambda: read(data), "Pillow decoding it", decode, 3)


def _supply() -> Figure:
    import numpy as np

    from app.electrics import capacitor_input

    fixed = np.random.default_rng(1).random((100, 100)) + 100 * np.eye(100)
    right = np.ones(100)

    def solve() -> object:
        return capacitor_input(secondary_vrms=325.0, rectifier="full_wave_ct", source_ohm=100.0, reservoir_farad=47e-6,
                               mains_hz=50.0, load_a=0.1)

    return compare("a supply solved", solve, "numpy solving 100 equations", lambda: np.linalg.solve(fixed, right), 7)


def _planner() -> Figure:
    from app.reassembly.planner import Step, plan

    pick = random.Random(7)  # noqa: S311 - no secret
    after = {f"s{n}": tuple(f"s{pick.randrange(n)}" for _ in range(pick.randrange(3))) if n else () for n in range(STEPS)}
    steps = [Step(one, after=before, side=pick.choice(("inside", "outside", "top")), place=f"p{pick.randrange(12)}", minutes=2.0)
             for one, before in after.items()]
    return compare(f"a way back of {STEPS} steps", lambda: plan(steps), "graphlib sorting them",
                   lambda: list(graphlib.TopologicalSorter(after).static_order()), 3)
