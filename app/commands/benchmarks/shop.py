"""The shop's parts: pages, saving, photos and papers of a shop made for the run."""

from __future__ import annotations

import io
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from app import clock, config, create_app
from app import migrate as schema
from app.commands.benchmarks.figure import Figure, compare
from app.commands.people import CONSOLE
from app.documents import pdf

if TYPE_CHECKING:
    from flask import Flask

MEGAPIXELS = (4000, 3000)
ORDERS = 20


def figures(folder: Path) -> Iterator[Figure]:
    """Every figure of the shop, in turn. Nothing outside `folder` is read or written."""
    app = _shop(folder)
    yield from _pages(app)
    yield _commits(app, folder / "plain.db")
    yield _photo()
    yield _paper(app)
    app.extensions["tagstrip_db"].engine.dispose()
    pdf.shared.close()


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

    from app.access.rules import Role
    from app.access.service import add_person, open_sign_in
    from app.db import transaction
    from app.kernel.tokens import SIGN_IN_COOKIE

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


def _paper(app: Flask) -> Figure:
    from app.db import session
    from app.documents.job import Job
    from app.documents.make import FONTS, document
    from app.documents.paper import paper
    from app.documents.rules import Kind
    from app.kernel.fonts import font_files
    from app.orders.models import RepairOrder

    now = clock.now()
    with app.test_request_context("/"):
        order = session().get_one(RepairOrder, 1)
        receipt = document(order, paper(order, Kind.RECEIPT), 1, replaces=0, head="0" * 64, now=now)
    fonts = {f"paper:font/{name}": font_files()[name].read_bytes() for name in FONTS}
    empty = Job("<!doctype html><html lang=en><title>-</title><p>-</p></html>", now.isoformat(), {})
    return compare("a receipt as PDF", lambda: pdf.render(Job(receipt, now.isoformat(), fonts)), "an empty page as PDF",
                   lambda: pdf.render(empty), 3)
