"""Reading photos."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.photos.models import Phase, Photo
from app.request_cache import cached_until_write


def find(photo_id: int) -> Photo | None:
    """The photo with this id, struck or not."""
    return session().get(Photo, photo_id)


@cached_until_write
def of_order(order_id: int, *, place: str | None = None, phase: Phase | None = None,
             struck: bool = False) -> Sequence[Photo]:
    """An order's photos in their order; of one place or phase if asked. `struck` asks for the struck ones instead."""
    wanted = sa.select(Photo).where(Photo.order_id == order_id,
                                    Photo.struck_at.is_not(None) if struck else Photo.struck_at.is_(None))
    if place is not None:
        wanted = wanted.where(Photo.place == place)
    if phase is not None:
        wanted = wanted.where(Photo.phase == phase)
    return session().scalars(wanted.order_by(Photo.position, Photo.id)).all()


def places(order_id: int) -> list[str]:
    """Every place that this order's photos name, in the order of the photos."""
    return list(dict.fromkeys(photo.place for photo in of_order(order_id)))


def hashes() -> set[str]:
    """Every hash that a photo rests on: originals and copies."""
    rows = session().execute(sa.select(Photo.sha256, Photo.web_sha256, Photo.thumb_sha256))
    return {one for row in rows for one in row}


@dataclass(frozen=True)
class Pair:
    """One view, as found and as left; either side may still be missing. `by_place`: of one place, perhaps not from one side."""

    found: Photo | None
    left: Photo | None
    by_place: bool = False


def pairs(order_id: int) -> list[Pair]:
    """The same view as found and as left, for screen and paper alike: those taken to match, then by place and caption, then by
    place alone, one for one.
    """
    photos = of_order(order_id)
    found = [photo for photo in photos if photo.phase is Phase.AS_FOUND]
    left = [photo for photo in photos if photo.phase is Phase.AS_LEFT]
    matched: dict[int, Pair] = {}
    for fits, by_place in ((_taken_to_match, False), (_same_words, False), (_same_place, True)):
        for one in found:
            match = None if one.id in matched else next((other for other in left if fits(one, other)), None)
            if match is not None:
                matched[one.id] = Pair(one, match, by_place)
                left.remove(match)
    return [*(matched.get(one.id, Pair(one, None)) for one in found), *(Pair(None, one) for one in left)]


def _taken_to_match(found: Photo, left: Photo) -> bool:
    return left.same_view_as_id == found.id


def _same_words(found: Photo, left: Photo) -> bool:
    return left.same_view_as_id is None and (left.place, left.caption) == (found.place, found.caption)


def _same_place(found: Photo, left: Photo) -> bool:
    return left.same_view_as_id is None and left.place == found.place
