"""What the bench list and the order's page cost, by hand: queries, and CPU against a bare page, with 12, 60 and 600 open orders.

    .venv/bin/python -m tests.bench.measure_list

A bare page is an empty one on the same base template, with the same sign-in. Orders stand in every stage, as the walks of
tests/orders/steps.py bring them there.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from flask import Flask, render_template

from app import clock, create_app, migrate
from app.access.guard import may
from app.access.rules import May
from app.db import make_engine, session, transaction
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER
from app.orders.standing import calculate
from app.request_cache import forget
from app.shop import service as shop_service
from tests import factories
from tests.bench.make import counted
from tests.conftest import configure
from tests.orders import steps
from tests.pages import PageClient
from tests.people import BY, Cast, hire

SIZES = (12, 60, 600)
ROUNDS = 25
BARE = "{% extends 'base.html' %}{% block title %}Bare{% endblock %}{% block main %}{% endblock %}"


def shop(folder: Path) -> tuple[Flask, Cast]:
    """An own shop in this folder, open, with its cast."""
    url = f"sqlite:///{folder / 'measured.db'}"
    engine = make_engine(url)
    migrate.upgrade(engine)
    engine.dispose()
    app = create_app(configure(folder, url))

    empty = app.jinja_env.from_string(BARE)

    def bare() -> str:
        return render_template(empty)

    app.add_url_rule("/bare", "bare", may(May.SEE)(bare))
    with app.app_context(), transaction():
        shop_service.open_shop("Lowgate Valve Repairs", by=BY, now=factories.NOW)
        cast = hire(factories.NOW)
        steps.equip()
    return app, cast


def one_order(number: int) -> int:
    """An order in the stage that its number says, properly brought there."""
    now, stage = factories.NOW, IN_ORDER[number % len(IN_ORDER)]
    with transaction():
        order = factories.order(amp=factories.amp(protection_class=steps.CLASS_I, serial=f"M30-{number}"))
        steps.said(order, now)
        for each in IN_ORDER[:IN_ORDER.index(stage)]:
            for step in steps.PROPER[each]:
                now += timedelta(hours=1)
                step(order, now)
                session().flush()
            orders.move_on(order, by=BY, now=now)
        return order.id


def cpu_ms(client: PageClient, *paths: str) -> list[float]:
    """The median CPU of the process for one request to each page, in milliseconds; asked by turns."""
    taken: dict[str, list[float]] = {path: [] for path in paths}
    for _ in range(ROUNDS):
        for path in paths:
            began = time.process_time()
            assert client.client.get(path).status_code == 200, path
            taken[path].append(1000 * (time.process_time() - began))
    return [statistics.median(taken[path]) for path in paths]


def renewal_ms(order_id: int) -> float:
    """The median CPU of working out one order's standing afresh, in milliseconds: what each write to it adds."""
    taken = []
    for _ in range(ROUNDS):
        session().rollback()
        forget(session())
        began = time.process_time()
        calculate(session().get_one(RepairOrder, order_id), clock.now())
        taken.append(1000 * (time.process_time() - began))
    return statistics.median(taken)


def queries(app: Flask, client: PageClient, path: str) -> int:
    with counted(app) as asked:
        assert client.client.get(path).status_code == 200, path
    return len(asked)


def main() -> None:
    """Print a line a size."""
    with tempfile.TemporaryDirectory() as folder:
        app, cast = shop(Path(folder))
        client, made = PageClient(app).sign_in(cast.technician), 0
        for size in SIZES if len(sys.argv) < 2 else tuple(map(int, sys.argv[1:])):
            with app.app_context():
                began = time.process_time()
                while made < size:
                    newest = one_order(made)
                    made += 1
                print(f"{size} orders made in {time.process_time() - began:.1f} s of CPU", file=sys.stderr)
                slowest = session().get_one(RepairOrder, newest - newest % 7 or newest).id
            paths = ("/bare", "/", f"/orders/{slowest}")
            for path in paths:
                client.client.get(path)
            bare, *took = cpu_ms(client, *paths)
            for path, each in zip(paths[1:], took, strict=True):
                print(f"{size:4} open  {path:12} {queries(app, client, path):4} queries  {each:6.1f} ms of CPU  "
                      f"{each / bare:5.1f} x the bare page ({bare:.1f} ms)", flush=True)
        with app.app_context():
            for number, stage in enumerate(IN_ORDER, start=1):
                print(f"to renew an order at {stage.word.lower()}: {renewal_ms(number):.1f} ms of CPU", flush=True)


if __name__ == "__main__":
    main()
