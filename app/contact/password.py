"""The password of the mail server: in a file of its own in the data folder, or in the environment. Never in the database,
the journal, a log, a backup or an export.
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from app.errors import Unavailable
from app.photos.store import sync_folder

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
    path, fresh = data / FILE, data / f"{FILE}.{secrets.token_hex(6)}"
    try:
        if not password:
            path.unlink(missing_ok=True)
            sync_folder(data)
            return
        handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(password)
                file.flush()
                os.fsync(file.fileno())
            fresh.replace(path)
        except OSError:
            fresh.unlink(missing_ok=True)
            raise
        sync_folder(data)
    except OSError as wrong:
        raise Unavailable(f"The password cannot be kept in the data folder: {wrong.strerror or wrong}.") from wrong
