"""`serve`, `demo` and `migrate`."""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import os
import sys
import threading
import time
import webbrowser
from collections.abc import Iterator
from pathlib import Path

from flask import Flask

from app import config, create_app
from app import migrate as schema
from app.accounts import queries as accounts
from app.accounts.first_start import console_code
from app.db import Database
from app.errors import RuleBroken

SIGN_INS = "demo-sign-ins.txt"


def application(data: Path, *, secure: bool = False) -> Flask:
    """The application on this data folder, its schema brought up to date."""
    app = create_app(config.load(data, secure_cookies=secure))
    found: Database = app.extensions["tagstrip_db"]
    schema.upgrade(found.engine)
    return app


def migrate(given: argparse.Namespace) -> None:
    """Bring the schema up to date, and say so."""
    app = create_app(config.load(given.data))
    changed = schema.upgrade(app.extensions["tagstrip_db"].engine)
    print(f"{'Brought to' if changed else 'Already at'} schema {schema.newest()}.")


def serve(given: argparse.Namespace) -> None:
    """Serve this data folder until Ctrl-C."""
    with alone(given.data):
        app = application(given.data, secure=given.tls)
        with app.app_context():
            if not accounts.anybody():
                print(f"First start: open the page and enter this code: {console_code(given.data)}", flush=True)
        _serve(app, given)


def demo(given: argparse.Namespace) -> None:
    """Make the demo shop if it is not there, print its sign-ins, and serve it."""
    sign_ins = given.data / SIGN_INS
    if not sign_ins.exists():
        if given.data.exists() and any(given.data.iterdir()):
            raise RuleBroken(f"{given.data} holds something that is not a demo shop; choose another folder with --data.")
        print(f"Playing ten weeks of an invented shop into {given.data} …", flush=True)
        from demo_data.play import make_shop

        make_shop(given.data, sign_ins)
    with alone(given.data):
        app = application(given.data)
        print(sign_ins.read_text(encoding="utf-8").strip(), flush=True)
        if not given.no_browser:
            _open_later(f"http://{given.host}:{given.port}/")
        _serve(app, given)


@contextlib.contextmanager
def alone(data: Path) -> Iterator[None]:
    """One process owns a data folder; a second one is told who holds it."""
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    with (data / "in-use").open("a+", encoding="ascii") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            file.seek(0)
            raise RuleBroken(f"{data} is in use by process {file.read().strip() or '?'}; "
                             "one Tagstrip at a time may serve it.") from None
        file.seek(0)
        file.truncate()
        file.write(str(os.getpid()))
        file.flush()
        yield


def _serve(app: Flask, given: argparse.Namespace) -> None:
    app.extensions["tagstrip_store"].sweep()
    print(f"Tagstrip is at http{'s' if getattr(given, 'tls', False) else ''}://{given.host}:{given.port}/   (Ctrl-C ends it)",
          flush=True)
    from app.commands.server import run

    run(app, given.host, given.port, tls=getattr(given, "tls", False), data=given.data)


def _open_later(url: str) -> None:
    def open_it() -> None:
        time.sleep(1.0)
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(url)

    if sys.platform != "linux" or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"):
        threading.Thread(target=open_it, daemon=True).start()
