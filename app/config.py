"""Where the data lives and how this process is set up. Read once, at start."""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from app.errors import Unavailable


@dataclass(frozen=True)
class Config:
    """Everything that differs between one running Tagstrip and another."""

    data: Path
    database_url: str
    photo_url: str
    secret_key: str
    secure_cookies: bool = False


def load(data: Path, *, secure_cookies: bool = False) -> Config:
    """Settings from the data folder and the environment; makes the folder and the key if they are not there."""
    data = data.resolve()
    try:
        data.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as wrong:
        raise Unavailable(f"The data folder {data} cannot be made: {wrong.strerror}.") from wrong
    return Config(
        data=data,
        database_url=driver(os.environ.get("TAGSTRIP_DATABASE_URL") or f"sqlite:///{data / 'tagstrip.db'}"),
        photo_url=os.environ.get("TAGSTRIP_PHOTO_URL") or (data / "photos").as_uri(),
        secret_key=os.environ.get("TAGSTRIP_SECRET_KEY") or _key(data / "secret.key"),
        secure_cookies=secure_cookies,
    )


def driver(url: str) -> str:
    """The address as SQLAlchemy wants it: people write postgresql://, the driver is psycopg. Unavailable for another kind."""
    for plain in ("postgresql://", "postgres://"):
        if url.startswith(plain):
            return "postgresql+psycopg://" + url[len(plain):]
    if not url.startswith(("sqlite:", "postgresql+psycopg:")):
        raise Unavailable("TAGSTRIP_DATABASE_URL is no address of a database that Tagstrip works with. "
                          "Name it as postgresql://user@host/name")
    return url


def _key(path: Path) -> str:
    """The signing key of this data folder, made once, readable by its owner only."""
    try:
        return path.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        key = secrets.token_hex(32)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(key)
            file.flush()
            os.fsync(file.fileno())
        return key
