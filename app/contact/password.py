"""The password of the mail server: in a file of its own in the data folder, or in the environment. Never in the database,
the journal, a log, a backup or an export.
"""

from __future__ import annotations

import os
from pathlib import Path

from app.config import sync, write_whole
from app.errors import Unavailable

FILE = "mail-password"
ENVIRONMENT = "TAGSTRIP_SMTP_PASSWORD"


def from_environment() -> bool:
    """Whether it stands in the environment, which then comes before the file."""
    return bool(os.environ.get(ENVIRONMENT))


def read(data: Path) -> str:
    """The password; empty where none was set."""
    if from_environment():
        return os.environ[ENVIRONMENT]
    try:
        return (data / FILE).read_text(encoding="utf-8")
    except FileNotFoundError:
        return ""


def write(data: Path, password: str) -> None:
    """Keep it, readable by the owner of the folder only: whole or not at all. Empty takes it away."""
    try:
        if password:
            write_whole(data / FILE, password)
        else:
            (data / FILE).unlink(missing_ok=True)
            sync(data)
    except OSError as wrong:
        raise Unavailable(f"The password cannot be kept in the data folder: {wrong.strerror or wrong}.") from wrong
