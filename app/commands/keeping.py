"""`verify`, `backup` and `restore`."""

from __future__ import annotations

import argparse
import contextlib
import dataclasses

from app.backup.backup import backup as write_backup
from app.backup.place import refuse_network
from app.backup.restore import restore as read_backup
from app.backup.verify import tidy
from app.backup.verify import verify as look_at_everything
from app.commands.opening import alone, application
from app.errors import RuleBroken
from app.kernel.local_forms import counted


def verify(given: argparse.Namespace) -> None:
    """Check everything against its hash; what does not fit is named, one a line."""
    with alone(given.data) if given.tidy else contextlib.nullcontext(), application(given.data, older=True):
        found = look_at_everything(given.head)
        if given.tidy:
            tidy(found.orphans)
            found = dataclasses.replace(found, tidied=True)
    for line in found.troubles:
        print(line)
    if found.troubles:
        raise RuleBroken(found.summary)
    print(found.summary)


def backup(given: argparse.Namespace) -> None:
    """One file with everything, read back; of a shop that does not fit, what does not is named, and written into the file."""
    with application(given.data, older=True):
        found = look_at_everything()
        made = write_backup(given.file, found.troubles)
    said = f"{given.file}: {made.files} files, {made.bytes / 1e6:.1f} MB, read back: it holds the shop as it stands."
    if not found.troubles:
        print(f"{said} {found.summary}")
        return
    for line in found.troubles:
        print(line)
    raise RuleBroken(f"{said} But {counted(len(found.troubles), 'thing')} in it did not fit, named above and in the file. "
                     "Keep your older backups: one of them may hold what is damaged here.")


def restore(given: argparse.Namespace) -> None:
    """A data folder from a backup file. Never over an existing one."""
    refuse_network(given.data)
    for line in read_backup(given.file, given.data):
        print(f"It did not fit when the backup was made: {line}")
    print(f"Restored into {given.data}. Start it with: ./tagstrip serve --data {given.data}")
