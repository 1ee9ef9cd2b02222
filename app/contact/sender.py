"""What works the outbox off while the shop is served: one message at a time, in a thread of the one worker process."""

from __future__ import annotations

import functools
import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from flask import Flask, current_app

from app import clock
from app.contact import password, queries, smtp
from app.contact.models import MailServer
from app.contact.service import outbox
from app.db import end_reading, transaction
from app.errors import RuleBroken

EVERY_SECONDS = 20.0
NAME = "tagstrip_sender"  # among the application's extensions, while one runs


def way_to(server: MailServer, data: Path) -> smtp.Way:
    """How this server is reached, its password included."""
    return smtp.Way(server.host, server.port, server.security, server.user_name, password.read(data) if server.user_name else "")


def work_off(now: Callable[[], datetime]) -> int:
    """Try what is due, first queued first; how many tries were made. Stops where the server itself is the trouble."""
    tries = 0
    while True:
        end_reading()
        server = queries.server()
        key = queries.next_recipient(now()) if server is not None else None
        if server is None or key is None:
            end_reading()
            return tries
        way = way_to(server, current_app.config["DATA"])
        with transaction():
            envelope = outbox.claim(key, now())
        if envelope is None:
            continue
        tries += 1
        try:
            outcome = smtp.hand_over(way, envelope, functools.partial(_begin, key, now))
        except RuleBroken:
            current_app.logger.warning("A try to send message %s was given up: another has it", key)
            continue
        with transaction():
            outbox.settle(key, outcome, now())
        if outcome.of_server:
            return tries


def _begin(key: int, now: Callable[[], datetime]) -> None:
    with transaction():
        outbox.begin(key, now())


class Sender(threading.Thread):
    """Works the outbox off from time to time, and at once when it is woken."""

    def __init__(self, app: Flask) -> None:
        super().__init__(name="outbox", daemon=True)
        self._app = app
        self.woken, self.ended = threading.Event(), threading.Event()

    def run(self) -> None:
        """Until it is ended. What goes wrong with one pass is logged, and the next pass tries again."""
        while not self.ended.is_set():
            self.woken.clear()
            with self._app.app_context():
                try:
                    work_off(clock.now)
                except Exception:
                    self._app.logger.exception("The outbox could not be worked off; it is tried again")
            self.woken.wait(EVERY_SECONDS)

    def end(self) -> None:
        """Let it finish what it does, then no more."""
        self.ended.set()
        self.woken.set()


def start(app: Flask) -> Sender:
    """Begin to work the outbox of this application off."""
    sender = Sender(app)
    app.extensions[NAME] = sender
    sender.start()
    return sender


def wake() -> None:
    """A message was queued: try it now, if this process sends at all."""
    sender = current_app.extensions.get(NAME)
    if sender is not None:
        sender.woken.set()
