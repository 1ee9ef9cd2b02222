"""Pins: numbered places on a photo, each of which opens a finding, a removal or a position of a board.

Photos know no stage. A stage registers what its pins open, and what a tap on a photo may begin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from flask import url_for
from sqlalchemy.orm import InstrumentedAttribute, joinedload

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.photos.models import Photo, Pin


@dataclass(frozen=True)
class Kind:
    """What pins of one kind are called, which page opens one, and which page begins a new one (with photo, x and y).

    `name` is the table of the records that they open.
    """

    name: str
    word: str
    opens: str
    id_name: str
    begins: str


_kinds: dict[str, Kind] = {}


def register(kind: Kind) -> None:
    """Called by a stage when it is loaded."""
    _kinds[kind.name] = kind


def kinds() -> tuple[Kind, ...]:
    """Every kind, in the order of the house."""
    return tuple(_kinds.values())


def url_of(pin: Pin) -> str:
    """The page that this pin opens."""
    kind = _kinds[pin.table]
    values: dict[str, Any] = {"order_id": pin.order_id, kind.id_name: pin.subject_id}
    return url_for(kind.opens, **values)


def drop(photo: Photo, kind: str, subject_id: int, label: str, *, x: float | None = None, y: float | None = None,
         by: Actor, now: datetime) -> Pin:
    """Put a record on a photo, x and y as fractions of the upright picture from its top left; or move its pin there."""
    if kind not in _kinds:
        raise RuleBroken(f"There are no pins for {kind}.")
    if photo.struck_at is not None:
        raise RuleBroken("This photo is struck.")
    _check(x, y)
    there = session().scalar(sa.select(Pin).where(Pin.photo_id == photo.id, _key(kind) == subject_id, Pin.lifted_at.is_(None)))
    if there is not None:
        if (there.x, there.y) != (x, y):
            before = _journal_facts(there)
            there.x, there.y = x, y
            record(Event.PIN_MOVED, there, by=by, now=now, before=before, after=_journal_facts(there))
        return there
    pin = Pin(order_id=photo.order_id, photo_id=photo.id, label=label, x=x, y=y, at=now, by_name=by.name,
              **{f"{kind}_id": subject_id})
    session().add(pin)
    record(Event.PIN_DROPPED, pin, by=by, now=now, after={"photo": photo.id, _kinds[kind].word: label, **_journal_facts(pin)})
    return pin


def lift(pin: Pin, *, by: Actor, now: datetime) -> None:
    """Take a record off a photo."""
    if pin.lifted_at is None:
        pin.lifted_at = now
        record(Event.PIN_REMOVED, pin, by=by, now=now, before={"photo": pin.photo_id, _kinds[pin.table].word: pin.label,
                                                                **_journal_facts(pin)})


def on_photo(photo_id: int) -> Sequence[Pin]:
    """The pins on a photo, oldest first."""
    return session().scalars(sa.select(Pin).where(Pin.photo_id == photo_id, Pin.lifted_at.is_(None))
                             .order_by(Pin.id)).all()


def of_record(kind: str, subject_id: int) -> list[Pin]:
    """The pins of one record on photos that stand, in the order of the photos; each with its photo."""
    return list(session().scalars(
        sa.select(Pin).join(Photo).options(joinedload(Pin.photo))
        .where(_key(kind) == subject_id, Pin.lifted_at.is_(None), Photo.struck_at.is_(None))
        .order_by(Photo.position, Pin.id)))


def by_record(order_id: int, kind: str) -> dict[int, list[Pin]]:
    """For each record of this kind in an order: its pins on photos that stand, in the order of the photos; each with its photo."""
    found: dict[int, list[Pin]] = {}
    for pin in session().scalars(
            sa.select(Pin).join(Photo).options(joinedload(Pin.photo))
            .where(Pin.order_id == order_id, _key(kind).is_not(None), Pin.lifted_at.is_(None), Photo.struck_at.is_(None))
            .order_by(Photo.position, Pin.id)):
        found.setdefault(pin.subject_id, []).append(pin)
    return found


def photos_by_record(order_id: int, kind: str) -> dict[int, list[Photo]]:
    """For each record of this kind in an order: its photos."""
    return {subject: [pin.photo for pin in pinned] for subject, pinned in by_record(order_id, kind).items()}


def _key(kind: str) -> InstrumentedAttribute[int | None]:
    """The column of the keys of this kind."""
    column: InstrumentedAttribute[int | None] = getattr(Pin, f"{kind}_id")
    return column


def _check(x: float | None, y: float | None) -> None:
    if (x is None) != (y is None):
        raise BadInput("A pin needs both its places: across and down.")
    for one in (x, y):
        if one is not None and not (math.isfinite(one) and 0 <= one <= 1):
            raise BadInput("A pin lies on the picture.")


def _journal_facts(pin: Pin) -> dict[str, str]:
    if pin.x is None or pin.y is None:
        return {"where": "the whole photo"}
    return {"where": f"{pin.x:.0%} across, {pin.y:.0%} down"}
