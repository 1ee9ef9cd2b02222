"""kill -9 while a file of rows is taken in, right before its commit and inside it: all of its rows, or none, on either engine."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup.verify import verify
from app.db import database, session
from tests.faults.shop import ROOT

pytestmark = pytest.mark.fault
ROWS, KILLS = 300, 4
# The event comes before COMMIT is sent: the sign says so, and the parent kills while the commit is under way.
RUN = """
import os, signal, sys, pathlib
import sqlalchemy as sa
from app.cli import main
sign, at_once = pathlib.Path(sys.argv.pop(1)), sys.argv.pop(1) == "at once"
def commit(connection):
    if connection.get_execution_options().get("writing"):
        if at_once:
            os.kill(os.getpid(), signal.SIGKILL)
        sign.touch()
sa.event.listen(sa.Engine, "commit", commit)
sys.exit(main(sys.argv[1:]))
"""


def started(sign: Path, how: str, file: Path, data: Path, url: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-c", RUN, str(sign), how, "import", str(file), "--data", str(data)], cwd=ROOT,
                            env={**os.environ, "TAGSTRIP_DATABASE_URL": url}, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)


@pytest.fixture
def closed(app: Flask) -> Iterator[Flask]:
    """Nobody of ours is connected while the command runs."""
    app.extensions["tagstrip_db"].close()
    yield app


def taken_in(app: Flask) -> int:
    """How many of the file's rows are there; whatever that is, everything fits."""
    with app.app_context():
        found = session().scalar(sa.text("SELECT count(*) FROM customer WHERE name LIKE 'Brought %'")) or 0
        entries = session().scalar(sa.text("SELECT count(*) FROM brought_in")) or 0
        assert verify().troubles == () and entries == (1 if found else 0)
        session().rollback()
        database().close()
    return found


def test_all_rows_or_none(closed: Flask, furnished_url: str, tmp_path: Path) -> None:
    file, chance = tmp_path / "customers.csv", random.Random(20260305)
    file.write_text("name,phone\n" + "".join(f"Brought {number},555 {number:04}\n" for number in range(ROWS)))
    killed = 0
    for turn in range(KILLS):
        sign = tmp_path / f"sign-{turn}"
        process = started(sign, "later" if turn else "at once", file, tmp_path, furnished_url)
        until = time.monotonic() + 100
        while process.poll() is None and not sign.exists() and time.monotonic() < until:
            time.sleep(0.0005)
        time.sleep(chance.random() * 0.01 if turn else 0)
        process.kill()
        process.communicate()
        killed += process.returncode == -9
        found = taken_in(closed)
        assert found in (0, ROWS) and (turn or not found)
        if found:
            break
    assert killed
    process = started(tmp_path / "last", "later", file, tmp_path, furnished_url)
    said = process.communicate(timeout=100)[1]
    assert process.returncode == 0, said.decode()
    assert taken_in(closed) == ROWS
