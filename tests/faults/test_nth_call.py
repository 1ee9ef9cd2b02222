"""Every call to the disk and the database fails in turn, the first, the second … until the act goes through without.

After each: no bare error, nothing half, and the same form sent again is saved once. The method is that of the SQLite project's
out-of-memory and I/O-error tests (https://www.sqlite.org/testing.html), laid over a whole act: rows, files and journal together.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup.verify import verify
from app.db import session, transaction
from app.documents.models import IssuedDocument
from app.findings.models.waste import Waste
from app.findings.rules.waste import Material
from app.photos.models import Photo
from tests import factories
from tests.pages import PageClient
from tests.photos.make import photo_bytes

pytestmark = pytest.mark.fault
MOST = 400  # calls of one act; more means that it never went through
WRITING = set("wax+")


class Nth:
    """Counts calls and lets the nth fail: with a full disk and a broken one in turn."""

    def __init__(self, fails: int) -> None:
        self.fails, self.calls, self.what = fails, 0, ""

    def call(self, what: str) -> None:
        self.calls += 1
        if self.calls == self.fails:
            self.what = what
            raise (OSError(errno.ENOSPC, "No space left on device") if self.fails % 2 else OSError(errno.EIO, "Input/output error"))

    def ask(self, what: str) -> None:
        """The same of the database, as its driver says it."""
        try:
            self.call(what)
        except OSError as wrong:
            said = "database or disk is full" if wrong.errno == errno.ENOSPC else "disk I/O error"
            raise sa.exc.OperationalError(what, {}, sqlite3.OperationalError(said)) from wrong


@contextmanager
def failing(nth: Nth) -> Iterator[None]:
    """While it lasts, the nth of all that makes, writes, syncs, renames or removes a file, or writes to the database, fails."""
    patch = pytest.MonkeyPatch()

    def counted(name: str, way: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            nth.call(name)
            return way(*given, **named)

        return call

    def opening(way: Callable[..., Any]) -> Callable[..., Any]:
        def open_it(file: Any, mode: str = "r", *given: Any, **named: Any) -> Any:
            if WRITING & set(mode) and not isinstance(file, int):
                nth.call("open")
            return way(file, mode, *given, **named)

        return open_it

    for name in ("fsync", "rename", "replace", "unlink", "mkdir"):
        patch.setattr(os, name, counted(name, getattr(os, name)))
    patch.setattr(io, "open", opening(io.open))
    patch.setattr(builtins, "open", opening(builtins.open))

    def executing(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        if statement.lstrip()[:6].upper() in ("INSERT", "UPDATE", "DELETE"):
            nth.ask(statement)

    def committing(connection: sa.Connection) -> None:
        if connection.get_execution_options().get("writing"):
            nth.ask("COMMIT")

    sa.event.listen(sa.Engine, "before_cursor_execute", executing)
    sa.event.listen(sa.Engine, "commit", committing)
    try:
        yield
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", executing)
        sa.event.remove(sa.Engine, "commit", committing)
        patch.undo()


Act = Callable[[int], tuple[str, dict[str, Any]]]
ACTS: dict[str, tuple[Act, Any]] = {
    "waste": (lambda order: (f"/orders/{order}/waste", {"material": Material.LEAD.value, "quantity": "1", "unit": "pieces",
                                                         "container": "tin"}), Waste),
    "photo": (lambda order: (f"/orders/{order}/photos", {"place": "front", "phase": "as_found", "other_caption": "tin",
                                                          "photos": photo_bytes()}), Photo),
    "paper": (lambda order: (f"/orders/{order}/papers/receipt", {"as_page": "yes"}), IssuedDocument),
}


@pytest.mark.parametrize("engine_name", ["sqlite"])
@pytest.mark.parametrize("name", ACTS)
def test_each_call_fails_in_turn(app: Flask, owner: PageClient, name: str) -> None:
    act, table = ACTS[name]
    tried = 0
    for fails in range(1, MOST):
        with app.app_context(), transaction():
            order = factories.order(amp=factories.amp(serial=f"N-{fails}")).id
        path, given = act(order)
        form = {**owner.get(path).fields(path), **given}
        nth = Nth(fails)
        with failing(nth):
            answer = owner.client.post(path, data=_sent(form))
            body, status = answer.get_data(as_text=True), answer.status_code
            answer.close()
        assert status != 500 or not nth.what, (nth.what, body[:600])
        if status != 303:
            again = owner.client.post(path, data=_sent(form))
            assert again.status_code == 303, (nth.what, again.status_code)
            again.close()
        with app.app_context():
            rows = session().scalar(sa.select(sa.func.count()).select_from(table).where(table.order_id == order))
            assert rows == 1, (nth.what, rows)
        if not nth.what:
            break
        tried += 1
    else:
        pytest.fail("it never went through")
    assert tried >= 5
    with app.app_context():
        assert [one for one in verify().troubles if "belong to no record" not in one] == []


def _sent(form: dict[str, Any]) -> dict[str, Any]:
    return {key: (io.BytesIO(value), "photo.jpg") if isinstance(value, bytes) else value for key, value in form.items()}
