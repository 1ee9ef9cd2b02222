"""The start: how long until the program says its first words."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from app.commands.benchmarks.figure import Figure, compare

STARTER = Path(__file__).resolve().parents[3] / "tagstrip"


def figures() -> Iterator[Figure]:
    """The starting file's help, beside Python doing nothing."""
    def run(*words: str) -> None:
        subprocess.run([sys.executable, *words], capture_output=True, check=True)  # noqa: S603

    yield compare("the first words", lambda: run(str(STARTER), "--help"), "Python started for nothing",
                  lambda: run("-c", "pass"), 7)
