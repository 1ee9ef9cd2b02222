"""`verify`, `backup` and `restore`."""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
from pathlib import Path

import sqlalchemy as sa
from flask import current_app

from app import clock
from app.backup import anchor, remembered, rotation
from app.backup.backup import Made, clear_parts
from app.backup.backup import backup as write_backup
from app.backup.place import refuse_network
from app.backup.restore import restore as read_backup
from app.backup.verify import Verified, tidy
from app.backup.verify import verify as look_at_everything
from app.commands.opening import alone, application
from app.db import session
from app.errors import RuleBroken
from app.journal.models import JournalEntry
from app.kernel.local_forms import counted


def verify(given: argparse.Namespace) -> None:
    """Check everything against its hash; what does not fit is named, one a line."""
    with alone(given.data) if given.tidy else contextlib.nullcontext(), application(given.data, older=True):
        found = look_at_everything(given.head)
        if given.tidy:
            tidy(found.orphans)
            found = dataclasses.replace(found, tidied=True)
        held = _anchored(given.anchor, found) if given.anchor else ()
        found = dataclasses.replace(found, troubles=(*found.troubles, *held))
    for line in found.troubles:
        print(line)
    if found.troubles:
        raise RuleBroken(found.summary)
    print(found.summary)
    print(found.fingerprint)


def _anchored(path: Path, found: Verified) -> tuple[str, ...]:
    """Hold the journal against the anchor and add this run's line. To a history that does not fit, none is added."""
    def hash_of_entry(seq: int) -> str | None:
        return session().scalar(sa.select(JournalEntry.hash).where(JournalEntry.seq == seq))

    compared = anchor.compared(path, hash_of_entry)
    if compared.troubles:
        return compared.troubles
    if not found.newest[1]:
        return ()  # not read: that is named already
    anchor.add(path, *found.newest, found.root, clock.now())
    if compared.fitting:
        print(f"{path}: the journal holds {counted(compared.fitting, 'earlier line')} of it; one was added.")
    else:
        print(f"{path}: begun with this run; there was nothing to compare with.")
    return ()


def backup(given: argparse.Namespace) -> None:
    """One file with everything, read back; of a shop that does not fit, what does not is named, and written into the file."""
    folder = rotation.folder_for(given.file, keep=bool(given.keep))
    at = clock.now()
    if folder is not None:
        clear_parts(folder)
    file = given.file if folder is None else rotation.dated(folder, at)
    with application(given.data, older=True):
        found = look_at_everything()
        made = write_backup(file, found.troubles, at)
        data = Path(current_app.config["DATA"])
    for line in made.troubles:
        print(line)
    said = f"{file}: {made.files} files, {made.bytes / 1e6:.1f} MB, read back: it holds the shop as it stands."
    not_remembered = _remember(data, file, made)
    if made.troubles:
        raise RuleBroken(f"{said} But {counted(len(made.troubles), 'thing')} in it did not fit, named above and in the file. "
                         f"Keep your older backups: one of them may hold what is damaged here. {not_remembered}")
    print(f"{said} {found.summary}")
    print(f"Root of all tables and files: {made.root}\nJournal: {made.head or 'no entry'}")
    lost = _rotate(folder, given.keep, file) if folder is not None and given.keep else ""
    if not_remembered or lost:
        raise RuleBroken(f"The backup {file} is good. {not_remembered}{lost}")


def _remember(data: Path, file: Path, made: Made) -> str:
    """Let the shop know; what to say if it cannot be told."""
    try:
        remembered.remember(data, file, made)
    except OSError as wrong:
        return f"But the shop cannot note it in {data}, and its pages go on telling of the one before: {wrong.strerror}. "
    return ""


def _rotate(folder: Path, keep: int, newest: Path) -> str:
    """Take away what is older than the newest `keep`; what to say of files that cannot be read."""
    done = rotation.rotate(folder, keep, newest)
    for name in done.gone:
        print(f"Removed, as {counted(keep, 'newer good one')} {'is' if keep == 1 else 'are'} there: {name}")
    print(f"{folder}: {counted(done.good, 'good backup')}, at most {keep} are kept.")
    for line in done.unreadable:
        print(line)
    if not done.unreadable:
        return ""
    return f"But {counted(len(done.unreadable), 'older file')} beside it cannot be read back, named above."


def restore(given: argparse.Namespace) -> None:
    """A data folder from a backup file. Never over an existing one."""
    refuse_network(given.data)
    made = read_backup(given.file, given.data)
    for line in made.troubles:
        print(f"It did not fit when the backup was made: {line}")
    if made.troubles:
        print(f"The backup is of a damaged shop: {counted(len(made.troubles), 'thing')} did not fit in it, named above.")
    if made.root:
        print(f"What was loaded reads as it stands in the backup, root {made.root}.")
    print(f"Restored into {given.data}, as of {made.made_at}. Start it with: ./tagstrip serve --data {given.data}")
