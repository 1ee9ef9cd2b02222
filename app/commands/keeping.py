"""`verify`, `backup` and `restore`."""

from __future__ import annotations

import argparse

from app import keeping
from app.commands.running import alone, application
from app.errors import RuleBroken


def verify(given: argparse.Namespace) -> int:
    """Check everything against its hash; exit 1 and name what does not fit."""
    app = application(given.data)
    with app.app_context():
        found = keeping.verify()
    for line in found.troubles:
        print(line)
    print(found.summary)
    return 1 if found.troubles else 0


def backup(given: argparse.Namespace) -> None:
    """One file with everything; it is read back and checked before it is called good."""
    app = application(given.data)
    with app.app_context():
        made = keeping.backup(given.file)
    print(f"{given.file}: {made.files} files, {made.bytes / 1e6:.1f} MB, read back and checked.")


def restore(given: argparse.Namespace) -> None:
    """A data folder from a backup file. Never over an existing one."""
    if given.data.exists() and any(given.data.iterdir()):
        raise RuleBroken(f"{given.data} is not empty; restore into a new folder, then serve that one.")
    keeping.restore(given.file, given.data)
    with alone(given.data):
        application(given.data)
    print(f"Restored into {given.data}. Start it with: ./tagstrip serve --data {given.data}")
