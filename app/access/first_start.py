"""The code that proves that whoever opens the shop also started the program."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

FILE = "first-start.code"


def console_code(data: Path) -> str:
    """The code, made once per data folder, readable by its owner only; printed at the console."""
    path = data / FILE
    try:
        return path.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        code = f"{secrets.randbelow(10**8):08d}"
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(code)
        return code


def code_fits(data: Path, given: str) -> bool:
    """Whether the code that was typed is the one on the console."""
    return secrets.compare_digest(console_code(data).encode(), given.strip().replace(" ", "").encode())


def forget_code(data: Path) -> None:
    """Once the shop is open the code is worth nothing."""
    (data / FILE).unlink(missing_ok=True)
