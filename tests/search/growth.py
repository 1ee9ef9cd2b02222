"""How long the search takes as a shop grows: a database of invented orders, on both engines.

    .venv/bin/python -m tests.search.growth 1000 10000 100000

The records are written as rows, the index as the program writes it (renewed by `index.fill`). Server time is the CPU of
this process and, on PostgreSQL, of the server process that answers; the median and the highest of REPEATS runs of the whole
answer, six kinds, order states and warnings included. For each order: half an amp and half a customer more, 4 parts, 4 papers,
6 removals; 200 orders are open.
"""

from __future__ import annotations

import itertools
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import sqlalchemy as sa
from flask import Flask, g

from app import create_app, migrate
from app.access.models import Person
from app.access.rules import Role
from app.config import Config
from app.db import database, session, transaction
from app.search import index, views
from app.shop import service as shop_service
from app.tables import metadata
from tests import postgres
from tests.people import BY

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
REPEATS = 15
FIRST = ("Wren", "Bode", "Ottilie", "Piers", "Mara", "Ines", "Tove", "Odd", "Ansel", "Brisa", "Cato", "Dunja", "Ebba", "Faro")
SYLLABLES = ("an", "bar", "cor", "del", "el", "fen", "gar", "hol", "in", "jar", "kel", "lin", "mor", "nor", "os", "pel", "quin",
             "ros", "sel", "tor", "ul", "ven", "wal", "yor", "zan")
MAKERS = ("Tarnholt", "Orrin", "Vessel & Pike", "Lowmoor", "Brackwater")
MODELS = ("Meridian 30", "Halcyon 15", "Courier 50", "Lantern 5", "Parade 100")
WORDS = ("hum", "crackles", "dead", "warm", "channel", "left", "reverb", "tremolo", "fuse", "blown", "weak", "quiet", "loud",
"after",
         "minutes", "switched", "smell", "burnt", "knob", "scratchy", "pops", "rattle", "cabinet", "footswitch", "treble", "bass")
PARTS = ("Coupling capacitor 22 nF", "Filter capacitor 47 µF 450 V", "Screen resistor 470 Ω 5 W", "Mains lead", "Pilot lamp",
"Octal base")


def rows(orders: int) -> Iterator[tuple[str, Iterator[dict[str, object]]]]:
    """Every table's rows, in an order in which they can be written; the same for the same number."""
    dice = random.Random(7)
    half = max(orders // 2, 1)

    def name() -> str:
        return f"{dice.choice(FIRST)} {''.join(dice.choices(SYLLABLES, k=3)).title()}"

    yield "customer", ({"id": at, "name": name(), "phone": f"04{dice.randrange(10**8):08d}"[:4] + f" {dice.randrange(10**6):06d}",
                        "email": f"{dice.choice(SYLLABLES)}{at}@post.example", "address": "", "note": "", "added_at": NOW,
                        "version": 1} for at in range(1, half + 1))
    yield "amp", ({"id": at, "maker": dice.choice(MAKERS), "model": dice.choice(MODELS), "mains_marking": "240 V",
                   "serial": f"{dice.choice('ABHM')}{dice.randrange(99)}-{dice.randrange(10**5):05d}", "protection_class": "I",
                   "valves": "", "covering": "", "marks": "", "added_at": NOW, "version": 1} for at in range(1, half + 1))
    yield "repair_order", ({"id": at, "number": 1000 + at, "amp_id": dice.randint(1, half), "depositor_id": dice.randint(1, half),
                            "owner_id": dice.randint(1, half), "authority_id": dice.randint(1, half), "stage": "return",
                            "ended_as": None if at > orders - 200 else "repaired", "ended_at": None if at > orders - 200 else NOW,
                            "opened_at": NOW - timedelta(days=orders - at), "promised_on": None, "shelf": "",
                            "come_back_of_id": None, "under_warranty": None, "version": 1} for at in range(1, orders + 1))
    yield "complaint", ({"order_id": at, "words": " ".join(dice.choices(WORDS, k=12)), "connected": "", "how_long_on": "",
                         "last_right": "", "worked_on_by": "", "keep": "", "leave_alone": "", "at": NOW, "by_name": "Mara",
                         "version": 1} for at in range(1, orders + 1))
    yield "part", ({"order_id": at % orders + 1, "state": "needed", "what": dice.choice(PARTS), "kind": "other", "quantity": 1,
                    "place": f"V{dice.randrange(9)} grid", "rating_source": "", "needed_at": NOW, "needed_by": "Ines",
                    "supplier": "", "ordered_by": "", "batch": "", "test_words": "", "received_by": "", "fitted_place": "",
                    "fitted_by": "", "dropped_reason": "", "dropped_by": "", "version": 1} for at in range(4 * orders))
    yield "brought_in", iter([{"id": 1, "name": "list.csv", "sha256": "e" * 64, "what": "parts", "added": 1, "at": NOW,
                               "by_name": "Tove"}])
    yield "listed_part", ({"number": f"P-{at:05d}", "what": dice.choice(PARTS), "supplier": "Harrow", "price_minor": 100,
                           "brought_in_id": 1} for at in range(5000))
    yield "issued_document", ({"id": at * 4 + which + 1, "order_id": at + 1, "kind": kind, "about_id": 0, "revision": 1,
                               "sha256": f"{dice.randrange(16**64):064x}", "page_sha256": "b" * 64, "facts_sha256": "c" * 64,
                               "media_type": "application/pdf", "size": 9, "journal_hash": "d" * 64, "issued_at": NOW,
                               "issued_by": "Mara"}
                              for at in range(orders) for which, kind in enumerate(("receipt", "estimate", "report", "notice")))
    yield "removal", ({"order_id": at + 1, "number": which, "mark": f"P{which}", "name": f"part {which}", "kind": "part",
                       "unit": "", "place": "", "fixed_to": "", "under": [], "stack": [], "fasteners": {}, "thread": "",
                       "lacked": {}, "ends": [], "keyed": False, "orientation": "", "stays_on_loom": False, "bag": "",
                       "fate": "refit", "fate_reason": "", "minutes": 0.0, "unattended_minutes": 0.0, "note": "", "removed_at": NOW,
                       "removed_by": "Ines", "struck_reason": "", "version": 1} for at in range(orders) for which in range(1, 7))


def grow(app: Flask, orders: int) -> float:
    """Fill the database; the seconds that describing everything for the search took."""
    with app.app_context():
        with transaction():
            shop_service.open_shop("Lowgate Valve Repairs", by=BY, now=NOW, address="3 Lowgate, Harrowmere", phone="555 0101",
                                   email="bench@lowgate.example")
        with database().engine.connect().execution_options(writing=True) as connection, connection.begin():
            for table, made in rows(orders):
                while some := list(itertools.islice(made, 5000)):
                    connection.execute(metadata.tables[table].insert(), some)
            if connection.dialect.name == "postgresql":
                connection.execute(sa.text("ANALYZE"))
        started = time.monotonic()
        with transaction() as current:  # as a migration does: described first, indexed then
            index.lift(current.connection())
            index.fill(current.connection())
            index.lay(current.connection())
        took = time.monotonic() - started
        with database().engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(sa.text("VACUUM ANALYZE"))
        return took


def asked(orders: int) -> dict[str, str]:
    """What is typed, by what it tries."""
    customers = next(made for table, made in rows(orders) if table == "customer")
    sixth = next(itertools.islice(customers, 5, None))
    phone = str(sixth["phone"])
    return {"hit, common word": "crackles", "hit, two words": "meridian hum", "hit, rare": str(sixth["name"]), "miss": "zzyzx",
            "miss, common signs": "meridianus", "miss, two common words": "crackles lantern parade", "one letter": "w",
            "two letters": "ho", "short with long": "w hum", "number": str(1000 + orders // 2), "number, begun": "12",
            "phone": "+61 " + phone[1:], "phone, miss": "+61 491 570 156", "serial": "m300117", "tag": f"{1000 + orders // 2} P3",
            "tag alone": "P3", "listed part": "p00317"}


@contextmanager
def served_cpu(app: Flask) -> Iterator[Callable[[], float]]:
    """CPU seconds so far of this process and of the PostgreSQL process behind our connection."""
    import os

    pid = session().execute(sa.text("SELECT pg_backend_pid()")).scalar() if database().engine.dialect.name == "postgresql" else None
    if pid is None:
        yield time.process_time
        return
    schedstat = Path(f"/proc/{pid}/schedstat")  # nanoseconds on a CPU; stat counts in hundredths of a second only
    assert os.access(schedstat, os.R_OK)
    yield lambda: time.process_time() + int(schedstat.read_text().split()[0]) / 1e9


def measure(app: Flask, orders: int) -> None:
    """One line for each thing typed."""
    with app.test_request_context("/search"):
        g.person = Person(name="Tove", role=Role.OWNER, active=True)
        with served_cpu(app) as cpu:
            for what, typed in asked(orders).items():
                times, lines = [], 0
                views.answers(typed, views.IN_THE_BOX)
                for _ in range(REPEATS):
                    before = cpu()
                    lines = sum(group.count for group in views.answers(typed, views.IN_THE_BOX))
                    times.append((cpu() - before) * 1000)
                print(f"  {what:24} {typed:28} {lines:3} shown  {statistics.median(times):7.2f} ms  {max(times):7.2f} ms at most",
                      flush=True)


def run(url: str, orders: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(Config(data=Path(folder), database_url=url.format(folder=folder), photo_url=Path(folder).as_uri(),
                                secret_key="growth"))
        engine = app.extensions["tagstrip_db"].engine
        migrate.upgrade(engine)
        took = grow(app, orders)
        print(f"{engine.dialect.name}, {orders} orders: described and indexed in {took:.0f} s", flush=True)
        measure(app, orders)
        engine.dispose()


def main() -> None:
    for orders in map(int, sys.argv[1:] or ["1000", "10000"]):
        run("sqlite:///{folder}/tagstrip.db", orders)
        with postgres.server() as address:
            postgres.command(address, "CREATE DATABASE growth")
            run(f"{address}/growth", orders)


if __name__ == "__main__":
    main()
