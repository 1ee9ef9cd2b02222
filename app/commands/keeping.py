"""`verify`, `backup` and `restore`."""

from __future__ import annotations

import argparse

from app.backup.backup import backup as write_backup
from app.backup.place import refuse_network
from app.backup.restore import restore as read_backup
from app.backup.verify import verify as look_at_everything
from app.commands.opening import application
from app.errors import RuleBroken


def verify(given: argparse.Namespace) -> None:
    """Check everything against its hash; what does not fit is named, one a line."""
    with application(given.data, older=True):
        found = look_at_everything(given.head)
    for line in found.troubles:
        print(line)
    if found.troubles:
        raise RuleBroken(found.summary)
    print(found.summary)


def backup(given: argparse.Namespace) -> None:
    """One file with everything; it is read back and checked before it is called good."""
    with application(given.data, older=True):
        made = write_backup(given.file)
    print(f"{given.file}: {made.files} files, {made.bytes / 1e6:.1f} MB, read back and checked.")


def restore(given: argparse.Namespace) -> None:
    """A data folder from a backup file. Never over an existing one."""
    refuse_network(given.data)
    read_backup(given.file, given.data)
    print(f"Restored into {given.data}. Start it with: ./tagstrip serve --data {given.data}")
