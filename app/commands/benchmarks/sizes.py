"""How the shop bears growth: the same acts at each size, beside the same plain ones."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence

import sqlalchemy as sa

from app.commands.benchmarks import growth, shop
from app.commands.benchmarks.figure import Figure, compare
from app.commands.benchmarks.told import Told
from app.db import session, transaction
from app.launch.words import say
from app.orders.models import RepairOrder


def figures(told: Told, sizes: Sequence[int]) -> Iterator[Figure]:
    """Every figure at every size, smallest first. The database is left at the largest."""
    ask, empty = shop.browser(told.app), shop.empty_page(told.app)
    copies = 0
    for size in sorted(sizes):
        copies = _grow(told, copies, size)
        last = _newest(told)
        here = f"at {size}:"
        for what, path in (("bench list", "/"), ("an ended order's page", f"/orders/{last}"),
                           ("search that finds one", shop.SEARCH + growth.word(copies)),
                           ("search that finds none", shop.SEARCH + "nobody+called+that")):
            yield compare(f"{here} {what}", ask(path), shop.EMPTY, empty)
        yield shop.saving(told.app, f"{here} a record saved")


def _newest(told: Told) -> int:
    """The id of the newest order."""
    with told.app.app_context():
        return session().scalar(sa.select(sa.func.max(RepairOrder.id))) or 0


def _grow(told: Told, copies: int, size: int) -> int:
    """Bring the shop to `size` ended orders; how many copies there are then."""
    wanted = max(copies, size // told.ended.orders - 1)
    began = time.monotonic()
    with told.app.app_context():
        rows = 0
        if wanted > copies:
            with transaction():
                rows = growth.grow(session(), told.ended, copies + 1, wanted)
        with transaction():
            session().execute(sa.text("ANALYZE"))
    say(f"  grown to {size} ended orders, {told.open_orders} open: {rows} rows more in {time.monotonic() - began:.0f} s")
    return wanted
