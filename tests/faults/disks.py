"""A small disk of a test's own, to be filled or made read-only. Mounting needs root and leave to do it."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def small_disk(at: Path, megabytes: int) -> Iterator[Path]:
    """A tmpfs at this folder. Skips the test, with the system's words, where none may be mounted."""
    at.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(at)], capture_output=True, text=True,
                          check=False)
    if done.returncode:
        pytest.skip(f"no disk can be mounted here: {done.stderr.strip()}")
    try:
        yield at
    finally:
        subprocess.run(["umount", "-l", str(at)], check=True)


def remount(at: Path, how: str) -> None:
    """'ro' or 'rw'. chmod would not do: root writes all the same."""
    subprocess.run(["mount", "-o", f"remount,{how}", str(at)], check=True)


def fill(at: Path) -> Path:
    """Write until the disk is full; the file to delete again."""
    path = at / "filler"
    with path.open("wb", buffering=0) as file:
        for size in (1 << 16, 1 << 12, 1):
            try:
                while True:
                    file.write(b"x" * size)
            except OSError:
                continue
    return path
