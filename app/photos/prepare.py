"""Taking a photo in: decode it, keep its bytes under their hash. Done before anything is written to the database."""

from __future__ import annotations

import errno
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from werkzeug.datastructures import FileStorage

from app.errors import BadInput, Unavailable
from app.kernel.resubmitted_uploads import not_taken
from app.photos.apart import AT_ONCE, clean, read
from app.photos.picture import MOST_BYTES, Picture
from app.photos.store import the_store
from app.shop import queries as shops


@dataclass(frozen=True)
class Prepared:
    """A photo whose bytes are in the store: hashes of the original and of its two copies, and what is known of it."""

    sha256: str
    web_sha256: str
    thumb_sha256: str
    media_type: str
    width: int
    height: int
    taken: datetime | None
    without_location: bool = False  # looked at, and no location is in the original


@dataclass(frozen=True)
class Refused:
    """A file of a batch that was not taken: its name, to be shown as text only, and why."""

    name: str
    words: str


def prepare(upload: FileStorage) -> Prepared:
    """Take one photo in. BadInput in words if it is none, Unavailable if the store cannot keep it."""
    done = _take([upload])[0]
    if isinstance(done, BadInput):
        raise done
    return done


def prepare_all(uploads: Sequence[FileStorage]) -> tuple[list[Prepared], list[Refused]]:
    """Take a batch in: the good ones are kept, each bad one is named with its reason."""
    kept, refused = [], []
    for upload, done in zip(uploads, _take(uploads), strict=True):
        if isinstance(done, BadInput):
            refused.append(Refused(name_of(upload), done.words))
            not_taken(upload)
        else:
            kept.append(done)
    return kept, refused


def name_of(upload: FileStorage) -> str:
    """A file's name as text: without folders and control marks, at most 60 characters."""
    plain = "".join(mark for mark in (upload.filename or "").replace("\\", "/").split("/")[-1] if mark.isprintable())
    return plain if 0 < len(plain) <= 60 else f"{plain[:28]}…{plain[-28:]}" if plain else "photo"


def _take(uploads: Sequence[FileStorage]) -> list[Prepared | BadInput]:
    shop = shops.find()
    zone: tzinfo = shop.zone if shop else UTC

    strip = shop is not None and shop.strip_location

    def decode(data: bytes) -> tuple[bytes, Picture, bool] | BadInput:
        try:
            picture = read(data, zone=zone)
            return (clean(data) if strip else data), picture, strip or not picture.located
        except BadInput as wrong:
            return wrong

    with ThreadPoolExecutor(AT_ONCE) as pool:
        found = list(pool.map(decode, [one.stream.read(MOST_BYTES + 1) for one in uploads]))
    return [one if isinstance(one, BadInput) else _keep(*one) for one in found]


def _keep(data: bytes, picture: Picture, without: bool) -> Prepared:
    original, web, thumb = stored(data, picture.web, picture.thumb)
    return Prepared(original, web, thumb, picture.kind.value, picture.width, picture.height, picture.taken, without)


def stored(*files: bytes, what: str = "photo") -> tuple[str, ...]:
    """Keep these bytes; their hashes. Unavailable in words, with `what` they are, if the store cannot keep them."""
    try:
        return tuple(the_store().put(one) for one in files)
    except OSError as wrong:
        full = wrong.errno == errno.ENOSPC
        words = "The disk is full" if full else f"The photo store cannot be written ({wrong.strerror})"
        raise Unavailable(f"{words}, so the {what} was not kept. Check that it is still on your device, then add it "
                          f"again.") from wrong
