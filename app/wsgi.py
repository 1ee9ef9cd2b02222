"""The application inside the server's worker process."""

from __future__ import annotations

import ctypes
import gc
import os
import signal
import sys
from collections.abc import Iterable
from dataclasses import replace
from multiprocessing.util import Finalize
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
from flask import Flask
from werkzeug.http import parse_cookie

from app import clock, config, create_app
from app.access import clock_jumps
from app.access.clean_up import once_a_day
from app.access.queries import known
from app.contact import sender
from app.db import THREADS, transaction
from app.door.crowd import watch
from app.door.environ import peer
from app.door.front import Front
from app.door.greeting import Greeter, listen
from app.door.proxy import Proxies, read
from app.kernel import door_log
from app.kernel.cookies import cookie_name
from app.kernel.tokens import SIGN_IN_COOKIE
from app.loaded_at_start import keep
from app.photos import removal
from app.trust.addresses import is_ours
from app.turns import say_in_use

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

PR_SET_PDEATHSIG = 1  # Linux: be told when the parent is gone, so that no worker outlives its server


def make() -> Front:
    """Built from what the parent process left in the environment. Nothing of what is loaded is garbage: it is not looked for."""
    gc.disable()
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
    found = config.load(Path(os.environ["TAGSTRIP_SERVE_DATA"]), secure_cookies=bool(os.environ.get("TAGSTRIP_SERVE_SECURE")))
    if reads := os.environ.get("TAGSTRIP_SERVE_READS"):
        found = replace(found, database_url=reads, read_only=True)
    app = create_app(found)
    keep(app)
    engine = app.extensions["tagstrip_db"].engine
    if engine.dialect.name == "postgresql":
        sa.event.listen(engine, "connect", say_in_use)
    if not found.read_only:
        with app.app_context(), transaction() as current:
            clock_jumps.look_at_start(clock.now())
            once_a_day(current, clock.now())
        with app.app_context():
            removal.work_off(clock.now())  # what an erasure listed and a kill left
        clock_jumps.watch(app)
    names, port = os.environ.get("TAGSTRIP_SERVE_NAMES", "").split(), int(os.environ["TAGSTRIP_SERVE_PORT"])
    app.wsgi_app = only_ours(app.wsgi_app, names, port)  # type: ignore[assignment]
    proxies = Proxies(read(os.environ.get("TAGSTRIP_SERVE_PROXIES", "").split()))
    watch(port, proxies)
    door_log.keep_in(app.config["DATA"])
    gc.freeze()
    gc.set_threshold(20_000, 50, 100)
    gc.enable()
    sender.start(app)
    greeter = _greeter(port, names)
    return Front(app, THREADS, lambda cookies: _knows(app, cookies), proxies, noted=_noted,
                 ends=greeter.address if greeter else peer)


def _greeter(port: int, names: list[str]) -> Greeter | None:
    """Who listens on the port of a shop over https; None over plain http, where the server itself does."""
    inner = os.environ.get("TAGSTRIP_SERVE_INNER", "")
    if not inner:
        return None
    found = Greeter(listen(os.environ["TAGSTRIP_SERVE_HOST"], port), int(inner), lambda host: is_ours(host, names), _noted)
    found.start()
    Finalize(None, found.finish, exitpriority=1)  # the server has ended by then, and has said all it had to say
    return found


def _noted(what: door_log.What, address: str) -> None:
    door_log.note(what, at=address)


def _knows(app: Flask, cookies: str) -> bool:
    """Whether this Cookie header is of somebody who signed in here, not too long ago for a form of theirs to be held."""
    with app.app_context():
        token = parse_cookie(cookies).get(cookie_name(SIGN_IN_COOKIE))
        return bool(token) and known(token or "", clock.now()) is not None


def only_ours(app: WSGIApplication, names: list[str], port: int) -> WSGIApplication:
    """Answer only under this machine's own names and addresses (421 is RFC 9110, 15.5.20), and on the port that people see."""

    def guarded(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        asked = environ.get("HTTP_HOST", "")
        environ["SERVER_PORT"] = str(port)
        if not asked or is_ours(asked, names):
            return app(environ, start)
        start("421 Misdirected Request", [("Content-Type", "text/plain; charset=utf-8")])
        return [b"Tagstrip does not answer under this name. Whoever runs it can add it: serve --name NAME.\n"]

    return guarded
