"""The shop of a run: full orders, told by the demo's stories with photos, removals, findings, quote, readings and tests."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from app import clock, config, create_app
from app import migrate as schema
from app.commands.benchmarks import growth
from app.db import opened, session, transaction
from app.errors import BadInput
from app.launch.words import say

if TYPE_CHECKING:
    from flask import Flask

COPIES_OF_OPEN = 2  # of each open story, beside itself


@dataclass(frozen=True)
class Told:
    """The application, its fullest open order, the ended one that a shop grows by, and how many are open."""

    app: Flask
    fullest_id: int
    ended: growth.Model
    open_orders: int


@contextmanager
def told_shop(folder: Path, url: str = "") -> Iterator[Told]:
    """A shop in `folder`, or with its rows in the empty database at `url`: one order that has gone home, three in every stage."""
    where = config.Config(folder, url or f"sqlite:///{folder / 'tagstrip.db'}", (folder / "photos").as_uri(), "only for this run")
    with opened(where.database_url) as engine:
        with engine.connect() as connection:
            if schema.revision(connection) is not None:
                raise BadInput("The database to measure in is not empty. Name an empty one: it will be filled.")
        schema.upgrade(engine)
    app = create_app(where)
    with contextlib.closing(app.extensions["tagstrip_db"]):
        yield _tell(app)


def _tell(app: Flask) -> Told:
    from app.documents import pdf
    from app.orders.stages import IN_ORDER
    from demo_data import counter, play
    from demo_data.darkroom import developing
    from demo_data.setting import equip, open_up
    from demo_data.stories import STORIES

    ended = next(one for one in STORIES if one.until == "repaired" and not one.comes_back)
    waiting = [next(one for one in STORIES if one.until == stage) for stage in IN_ORDER]
    pictures = [picture for one in (ended, *waiting) for picture in (*one.outside, *one.inside, *one.left)]
    say("  making a shop with full orders: drawing photographs, telling stories")
    now = clock.now()
    with developing(pictures) as plates, app.test_request_context():
        with transaction():
            crew, _ = open_up(now - timedelta(weeks=play.WEEKS))
            instruments = equip(crew, now - timedelta(weeks=play.WEEKS), now.date())
        marks, last = [growth.marks(session().connection())], 0
        for story in (ended, *waiting):  # the last waits at the last stage, and holds the most
            last = play.tell(story, counter.Stage(crew, plates, play.morning(now, story.days_ago)), instruments)
            marks.append(growth.marks(session().connection()))
        with transaction():
            growth.grow(session(), growth.model(marks[1], marks[-1]), 1, COPIES_OF_OPEN)
    pdf.shared.close()
    return Told(app, last, growth.model(marks[0], marks[1]), len(waiting) * (1 + COPIES_OF_OPEN))
