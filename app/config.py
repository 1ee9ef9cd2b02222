"""Where the data lives and how this process is set up. Read once, at start."""

from __future__ import annotations

import errno
import os
import secrets
import tempfile
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote, urlsplit

from app.errors import Unavailable

DATABASE = "tagstrip.db"
KEY = "secret.key"
NEW = "new-shop"  # lies in the folder from its first start until its database is there
SHORTEST_KEY = 32  # characters; ours have 64


@dataclass(frozen=True)
class Config:
    """Everything that differs between one running Tagstrip and another."""

    data: Path
    database_url: str
    photo_url: str
    secret_key: str
    secure_cookies: bool = False
    read_only: bool = False


def load(data: Path, *, secure_cookies: bool = False) -> Config:
    """Settings from the data folder and the environment; makes the folder and the key if they are not there."""
    data = data.resolve()
    try:
        data.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as wrong:
        raise Unavailable(f"The data folder {data} cannot be made: {wrong.strerror}.") from wrong
    if not left_of_a_shop(data) and not (data / DATABASE).exists():
        (data / NEW).touch(mode=0o600)
    return Config(
        data=data,
        database_url=driver(os.environ.get("TAGSTRIP_DATABASE_URL") or f"sqlite:///{data / DATABASE}"),
        photo_url=_photo_url(data),
        secret_key=os.environ.get("TAGSTRIP_SECRET_KEY") or _key(data / KEY),
        secure_cookies=secure_cookies,
    )


def store_is_shared() -> bool:
    """Whether the owner says that other servers, each with this setting, use the same database and the same photos folder."""
    return os.environ.get("TAGSTRIP_SHARED_STORE", "").lower() in ("1", "yes", "true", "on")


def left_of_a_shop(data: Path) -> list[str]:
    """What lies in the folder that only a shop leaves there, in words; the database itself is not asked about."""
    photos = photo_folder(_photo_url(data))
    found = {"photos or papers": any(photos.glob("??/*")), "a key": (data / KEY).exists(),
             "held forms": any(photos.with_name("held").glob("*")), "https keys": any((data / "tls").glob("*"))}
    return [words for words, is_there in found.items() if is_there]


def refuse_lost(data: Path, what: str) -> None:
    """Unavailable if a shop's other things are here and `what` ("its database is missing") is true: that is no new shop."""
    made_first = {"a key"} if (data / NEW).exists() else set()  # before the database; a start may have been killed between them
    left = [one for one in left_of_a_shop(data) if one not in made_first]
    if not left:
        return
    raise Unavailable(f"{data} held a shop: {', '.join(left)} still {'lie' if len(left) > 1 or left[0][-1] == 's' else 'lies'} "
                      f"there, but {what}. No new shop is begun over them. Put the database back, or restore a backup into a new "
                      f"folder: ./tagstrip restore FILE --data {data}-restored")


def is_read_only(data: Path) -> bool:
    """Whether the folder is there and nothing may be written in it. A disk that is full is another thing."""
    try:
        with tempfile.TemporaryFile(dir=data):
            return False
    except OSError as wrong:
        return wrong.errno in (errno.EROFS, errno.EACCES, errno.EPERM)


def database_is_there(data: Path) -> None:
    """The first start is over: from now on a missing database is missed."""
    if (data / NEW).exists():
        (data / NEW).unlink()


def photo_folder(url: str) -> Path:
    """The folder that an address of photos names (file:///…). Unavailable if it names something else."""
    parts = urlsplit(url)
    if parts.scheme not in ("", "file"):
        raise Unavailable(f"TAGSTRIP_PHOTO_URL is {url}: photos are kept in a folder. Name it as file:///….")
    return Path(unquote(parts.path))


def _photo_url(data: Path) -> str:
    return os.environ.get("TAGSTRIP_PHOTO_URL") or (data.resolve() / "photos").as_uri()


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
    """The signing key of this data folder, made once, readable by its owner only. Unavailable if what lies there is none."""
    if not path.exists():
        made = secrets.token_hex(32)
        if is_read_only(path.parent):
            return made  # for this run
        write_whole(path, made)
    key = path.read_text(encoding="ascii", errors="replace").strip()
    if len(key) < SHORTEST_KEY:
        wrong = "too short to be a key" if key else "empty"
        raise Unavailable(f"{path} is {wrong}. Put the key back from a copy of the folder, or delete the file: a new key is made, "
                          "and pages that are open now must be sent once more.")
    return key


def write_whole(path: Path, words: str) -> None:
    """A small file of its owner's only: there with all of it, synced, or not there at all. An older one is replaced."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(words)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    sync(path.parent)


def sync(path: Path) -> None:
    """What is written in this file, or the names in this folder, are on the disk when it returns."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
