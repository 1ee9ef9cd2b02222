"""`verify`, `backup` and `restore`."""

from __future__ import annotations

import argparse

from app.commands.running import application
from app.keeping.backup import backup as write_backup
from app.keeping.restore import restore as read_backup
from app.keeping.verify import verify as look_at_everything


def verify(given: argparse.Namespace) -> int:
    """Check everything against its hash; exit 1 and name what does not fit."""
    app = application(given.data)
    with app.app_context():
        found = look_at_everything()
    for line in found.troubles:
        print(line)
    print(found.summary)
    return 1 if found.troubles else 0


def backup(given: argparse.Namespace) -> None:
    """One file with everything; it is read back and checked before it is called good."""
    app = application(given.data)
    with app.app_context():
        made = write_backup(given.file)
    print(f"{given.file}: {made.files} files, {made.bytes / 1e6:.1f} MB, read back and checked.")


def restore(given: argparse.Namespace) -> None:
    """A data folder from a backup file. Never over an existing one."""
    read_backup(given.file, given.data)
    print(f"Restored into {given.data}. Start it with: ./tagstrip serve --data {given.data}")
