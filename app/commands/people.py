"""`user add` and `user code`."""

from __future__ import annotations

import argparse
import getpass
import sys

from app import clock
from app.access import service
from app.access.entering import find_by_name
from app.access.rules import Role
from app.commands.opening import application
from app.db import transaction
from app.errors import BadInput
from app.journal.service import Actor

CONSOLE = Actor(None, "the console", "the console")


def user(given: argparse.Namespace) -> None:
    """Add a person; the password is asked for, or read from standard input when that is no terminal. Or make a password code."""
    if given.what == "code":
        _code(given)
        return
    if given.role is None:
        raise BadInput("Enter what the new person is: --role counter, technician or owner.")
    with application(given.data):
        password = _asked() if sys.stdin.isatty() else sys.stdin.readline().rstrip("\r\n")
        with transaction():
            service.add_person(given.name, Role(given.role), password, by=CONSOLE, now=clock.now())
    print(f"{given.name} may sign in as {given.role}.")


def _code(given: argparse.Namespace) -> None:
    """For an owner who lost the password, above all: whoever has the data folder may let somebody choose another."""
    with application(given.data):
        found = find_by_name(given.name)
        if found is None:
            raise BadInput(f"Nobody who may sign in is called {given.name}.")
        with transaction():
            code = service.make_password_code(found, by=CONSOLE, now=clock.now())
    print(f"Code for {given.name}, good for one password and one day: {code[:4]} {code[4:8]} {code[8:]}\n"
          "Enter it under “Set a password by code” on the page where one signs in.")


def _asked() -> str:
    first = getpass.getpass("Password: ")
    if getpass.getpass("The same again: ") != first:
        raise BadInput("The two are not the same; nobody was added.")
    return first
