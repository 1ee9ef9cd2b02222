"""An erasure that is killed is not done or done: nothing in between, whatever moment it is killed at."""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup.verify import verify
from app.db import database, session, transaction
from app.personal import finishing, service
from app.personal.models import Erasure
from app.photos.models import FileToRemove
from app.records.models import Customer
from tests.factories import NOW
from tests.people import BY
from tests.personal import make

LATER = NOW + timedelta(days=40)
MOMENTS = (1, 5, 15, 30, 60, 10_000)  # statements that write, after which it is killed; the last: once it is saved


def is_killed_after(statements: int, customer_id: int) -> None:
    """In a process of its own: erase, and be gone without a word after so many statements."""
    database().close()
    child = os.fork()
    if child:
        os.waitpid(child, 0)
        return
    try:
        left = [statements]

        def count(_c: object, _u: object, statement: str, *_rest: object) -> None:
            left[0] -= statement.lstrip().upper().startswith(("UPDATE", "INSERT", "DELETE", "DROP", "CREATE"))
            if left[0] < 0:
                os._exit(9)

        sa.event.listen(database().engine, "before_cursor_execute", count)
        with transaction() as current:
            service.erase(current.get_one(Customer, customer_id), service.Wish("they asked for it", ("Nailmaker", "Osric")),
                          by=BY, now=LATER)
    finally:
        os._exit(9)  # before any file of it is removed


@pytest.mark.filterwarnings("ignore:.*multi-threaded.*fork.*:DeprecationWarning")
def test_killed_at_any_moment_it_is_done_or_not_done(context: Flask, tmp_path: Path) -> None:
    with transaction():
        who, order = make.with_traces()
        make.ended(order)
        customer_id = who.id
    for statements in MOMENTS:
        session().close()
        is_killed_after(statements, customer_id)
        there = session().get_one(Customer, customer_id)
        done = there.erased_at is not None
        assert (there.name == make.NAME) != done and done == (statements == MOMENTS[-1]), statements
        assert session().scalar(sa.select(sa.func.count()).select_from(Erasure)) == int(done)
        waiting = session().scalars(sa.select(FileToRemove)).all()
        assert done or not waiting
        troubles = [one for one in verify().troubles if "is to be removed" not in one]
        assert troubles == [], statements
    session().rollback()
    finishing.finish((), LATER)
    assert verify().troubles == ()
