"""Adding, describing, ordering and striking photos."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still
from app.photos import queries
from app.photos.models import Phase, Photo
from app.photos.prepare import Prepared
from app.photos.removal import list_file


def add(order: RepairOrder, prepared: Prepared, *, place: str, caption: str = "", phase: Phase = Phase.AS_FOUND,
        same_view_as: Photo | None = None, by: Actor, now: datetime) -> Photo:
    """A photo whose bytes are in the store, last in the row; it may show the same view as an earlier one."""
    must_be_open(order)
    if same_view_as is not None and same_view_as.order_id != order.id:
        raise RuleBroken("That photo belongs to another order.")
    last = session().scalar(sa.select(sa.func.max(Photo.position)).where(Photo.order_id == order.id))
    taken = prepared.taken if prepared.taken and prepared.taken <= now else None
    photo = Photo(order_id=order.id, sha256=prepared.sha256, web_sha256=prepared.web_sha256,
                  thumb_sha256=prepared.thumb_sha256, media_type=prepared.media_type, width=prepared.width,
                  height=prepared.height, place=_place(place), caption=_fold(caption), phase=phase,
                  position=(last or 0) + 1, without_location=prepared.without_location,
                  same_view_as_id=same_view_as.id if same_view_as else None, captured_at=taken, added_at=now, added_by=by.name)
    session().add(photo)
    record(Event.PHOTO_ADDED, photo, by=by, now=now, after={**_facts(photo), "SHA-256": photo.sha256})
    return photo


def replace_original(photo: Photo, sha256: str, *, by: Actor, now: datetime) -> None:
    """An original that was taken in with its location is replaced by the same picture without; its old file goes.

    Of a photo of any age, struck ones too: the picture is the same.
    """
    before, photo.without_location = photo.sha256, True
    if sha256 == before:
        return
    photo.sha256 = sha256
    record(Event.PHOTO_LOCATION_REMOVED, photo, by=by, now=now, before={"SHA-256": before}, after={"SHA-256": sha256},
           reason="the original is replaced by the same picture without its location")
    list_file(before, "the original photo told where it was taken", now)


def describe(photo: Photo, *, place: str, caption: str, phase: Phase, by: Actor, now: datetime) -> None:
    """Say better what a photo shows."""
    _must_stand(photo)
    before = _facts(photo)
    photo.place, photo.caption, photo.phase = _place(place), _fold(caption), phase
    after = _facts(photo)
    changed = [name for name in after if after[name] != before[name]]
    if changed:
        record(Event.PHOTO_CHANGED, photo, by=by, now=now, before={name: before[name] for name in changed},
               after={name: after[name] for name in changed})


def strike(photo: Photo, *, reason: str, by: Actor, now: datetime) -> None:
    """Take a photo out of sight, with a reason; its bytes and its row stay."""
    _must_stand(photo)
    if not reason.strip():
        raise BadInput("Enter why the photo is struck.", "reason")
    photo.struck_at, photo.struck_by, photo.struck_reason = now, by.name, _fold(reason)
    record(Event.PHOTO_STRUCK, photo, by=by, now=now, before=_facts(photo), after={"struck": True},
           reason=photo.struck_reason)


def move(photo: Photo, *, earlier: bool, by: Actor, now: datetime) -> bool:
    """Change places with the photo before or after it; False at the end of the row."""
    _must_stand(photo)
    row = list(queries.of_order(photo.order_id))
    here = row.index(photo)
    there = here - 1 if earlier else here + 1
    if not 0 <= there < len(row):
        return False
    other = row[there]
    # Not through the objects: a changed place in the row must not make an open caption form stale.
    for one, position in ((photo.id, other.position), (other.id, photo.position)):
        session().execute(sa.update(Photo).where(Photo.id == one).values(position=position))
    session().expire(photo, ["position"])
    session().expire(other, ["position"])
    record(Event.PHOTO_MOVED, photo, by=by, now=now, before={"place in the row": here + 1},
           after={"place in the row": there + 1})
    return True


def _must_stand(photo: Photo) -> None:
    must_be_open_still(photo.order_id)
    if photo.struck_at is not None:
        raise RuleBroken("This photo is struck. Add it again if it is needed after all.")


def _place(place: str) -> str:
    plain = _fold(place)
    if not plain:
        raise BadInput("Enter which place the photo shows.", "place")
    return plain


def _fold(text: str) -> str:
    return " ".join(text.split())


def _facts(photo: Photo) -> dict[str, str]:
    return {"place": photo.place, "caption": photo.caption, "phase": photo.phase.word}
