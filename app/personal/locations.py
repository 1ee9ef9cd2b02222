"""Taking the location out of originals that were added before the shop wanted it so: some at a time, by the owner's act."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.errors import RuleBroken
from app.photos import apart
from app.photos.models import Photo
from app.photos.prepare import stored
from app.photos.store import the_store

AT_ONCE = 40  # photos in one act: each is decoded twice


@dataclass(frozen=True)
class Cleaned:
    """The original of a photo without its location, in the store; `wrong` says why not."""

    photo_id: int
    sha256: str
    wrong: str = ""


def left() -> int:
    """How many originals nobody has looked at, or whose location could not be taken out."""
    return session().scalar(sa.select(sa.func.count()).select_from(Photo).where(~Photo.without_location)) or 0


def next_ones(after: int) -> Sequence[Photo]:
    """The next of them behind this id."""
    return session().scalars(sa.select(Photo).where(~Photo.without_location, Photo.id > after).order_by(Photo.id)
                             .limit(AT_ONCE)).all()


def clean(photos: Sequence[Photo]) -> list[Cleaned]:
    """Their originals without location, put into the store. Slow: before the transaction that writes the rows."""
    return [_clean(photo.id, photo.sha256) for photo in photos]


def _clean(photo_id: int, sha256: str) -> Cleaned:
    try:
        return Cleaned(photo_id, stored(apart.clean(the_store().get(sha256)))[0])
    except RuleBroken as wrong:
        return Cleaned(photo_id, sha256, wrong.words)
