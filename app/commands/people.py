"""`user add`."""

from __future__ import annotations

import argparse
import getpass
import sys

from app import clock
from app.accounts import service
from app.accounts.rules import Role
from app.commands.running import application
from app.db import transaction
from app.journal.service import Actor


def user(given: argparse.Namespace) -> None:
    """Add a person; the password is asked for, or read from standard input when that is no terminal."""
    app = application(given.data)
    password = getpass.getpass("Password: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
    with app.app_context(), transaction():
        service.add_person(given.name, Role(given.role), password, by=Actor(None, "the console", "the console"),
                           now=clock.now())
    print(f"{given.name} may sign in as {given.role}.")
