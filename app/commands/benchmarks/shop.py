"""The shop's parts: pages, saving, photos and papers."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import sqlalchemy as sa

from app import clock
from app.commands.benchmarks.figure import Figure, compare
from app.commands.benchmarks.told import Told
from app.commands.people import CONSOLE

if TYPE_CHECKING:
    from flask import Flask

MEGAPIXELS = (4000, 3000)
SEARCH = "/search?q="
EMPTY = "an empty page rendered"
Act = Callable[[], object]


def figures(told: Told) -> Iterator[Figure]:
    """Every figure of the shop, in turn."""
    ask = browser(told.app)
    yield compare(f"bench list, {told.open_orders} open orders", ask("/"), EMPTY, empty_page(told.app))
    yield compare("a full order's page", ask(f"/orders/{told.fullest_id}"), EMPTY, empty_page(told.app))
    yield saving(told.app, "a record and its journal entry, saved")
    yield _photo()
    yield _paper(told)


def browser(app: Flask) -> Callable[[str], Act]:
    """What asks for a page, as the shop's owner."""
    from app.access.rules import Role
    from app.access.service import add_person, open_sign_in
    from app.db import transaction
    from app.kernel.tokens import SIGN_IN_COOKIE

    with app.app_context(), transaction():
        person = add_person("Bench", Role.OWNER, "copper kettle on a slow stove", by=CONSOLE, now=clock.now())
        token = open_sign_in(person, None, agent="a browser", by_password=True, now=clock.now())[1]
    client = app.test_client()
    client.set_cookie(SIGN_IN_COOKIE, token)

    def ask(path: str) -> Act:
        def asked() -> object:
            answer = client.get(path)
            if answer.status_code != 200:
                raise RuntimeError(f"{path} answered {answer.status_code}")
            return answer

        return asked

    return ask


def empty_page(app: Flask) -> Act:
    """What a page costs that says nothing."""
    from flask import render_template_string

    def empty() -> object:
        with app.test_request_context("/"):
            return render_template_string("{% extends 'base.html' %}")

    return empty


def saving(app: Flask, what: str) -> Figure:
    """One record with its journal entry, beside one bare row committed in the same database."""
    from app.db import transaction
    from app.intake.service.records import add_customer
    from app.records.spec import CustomerFacts

    engine = app.extensions["tagstrip_db"].engine
    plain = sa.Table("bench_plain", sa.MetaData(), sa.Column("id", sa.Integer, primary_key=True), sa.Column("words", sa.Text))

    def ours() -> None:
        with app.app_context(), transaction():
            add_customer(CustomerFacts("Somebody", phone="555 0100"), by=CONSOLE, now=clock.now())

    def bare() -> None:
        cursor.execute("INSERT INTO bench_plain (words) VALUES ('Somebody')")
        raw.commit()

    plain.create(engine)
    with contextlib.closing(engine.raw_connection()) as raw:
        cursor = raw.cursor()
        found = compare(what, ours, "one row committed, synced", bare)
        cursor.close()
    plain.drop(engine)
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

    return compare("a 12 MP photo taken in, two copies", lambda: read(data), "Pillow decoding it", decode)


def _paper(told: Told) -> Figure:
    """By the warm process, so the processor's time is not this one's to tell."""
    from app.db import session
    from app.documents import pdf
    from app.documents.job import Job
    from app.documents.rules import Kind
    from app.orders.models import RepairOrder
    from demo_data import counter

    now = clock.now()
    empty = Job("<!doctype html><html lang=en><title>-</title><p>-</p></html>", now.isoformat(), {})

    def report() -> None:
        with told.app.test_request_context("/"):
            counter.make_paper(session().get_one(RepairOrder, told.fullest_id), Kind.REPORT, now)

    with contextlib.closing(pdf.shared):
        return compare("a repair report with its photos as PDF", report, "an empty page as PDF", lambda: pdf.render(empty),
                       cpu=False)
