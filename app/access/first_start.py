"""The code that proves that whoever opens the shop also started the program."""

from __future__ import annotations

import secrets
from pathlib import Path

from app.config import write_whole

FILE = "first-start.code"


def console_code(data: Path) -> str:
    """The code, made once per data folder, readable by its owner only; printed at the console."""
    path = data / FILE
    if not path.exists() or not path.read_text(encoding="ascii").strip():  # empty: its writing was interrupted
        write_whole(path, f"{secrets.randbelow(10**8):08d}")
    return path.read_text(encoding="ascii").strip()


def code_fits(data: Path, given: str) -> bool:
    """Whether the code that was typed is the one on the console."""
    return secrets.compare_digest(console_code(data).encode(), given.strip().replace(" ", "").encode())


def forget_code(data: Path) -> None:
    """Once the shop is open the code is worth nothing."""
    (data / FILE).unlink(missing_ok=True)
