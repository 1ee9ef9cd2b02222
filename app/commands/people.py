"""`user add`."""

from __future__ import annotations

import argparse
import getpass
import sys

from app import clock
from app.access import service
from app.access.rules import Role
from app.commands.opening import application
from app.db import transaction
from app.errors import BadInput
from app.journal.service import Actor

CONSOLE = Actor(None, "the console", "the console")


def user(given: argparse.Namespace) -> None:
    """Add a person; the password is asked for, or read from standard input when that is no terminal."""
    with application(given.data) as app:
        password = _asked() if sys.stdin.isatty() else sys.stdin.readline().rstrip("\r\n")
        with app.app_context(), transaction():
            service.add_person(given.name, Role(given.role), password, by=CONSOLE, now=clock.now())
    print(f"{given.name} may sign in as {given.role}.")


def _asked() -> str:
    first = getpass.getpass("Password: ")
    if getpass.getpass("The same again: ") != first:
        raise BadInput("The two are not the same; nobody was added.")
    return first
